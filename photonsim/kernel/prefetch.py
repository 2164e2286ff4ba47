"""A word to the processor that a place in memory will be wanted soon.

The panel's tally is larger than the fast caches, and a count in it had cost 12 % of all time, spent
waiting for memory. Asked for one history ahead, the line is there when it is counted.
"""

from typing import Any

from llvmlite import ir
from numba.core import cgutils, types
from numba.extending import intrinsic

from photonsim.kernel.compiler import COMPILED, jit

READ_AND_WRITE = 1
KEEP_IN_ALL_CACHES = 3
DATA = 1


def _prefetch(typing_context, array, index):
    signature = types.void(array, index)

    def generate(context, builder, signature, arguments):
        view = context.make_array(signature.args[0])(context, builder, arguments[0])
        place = builder.bitcast(builder.gep(view.data, [arguments[1]]), cgutils.voidptr_t)
        number = ir.IntType(32)
        kind = ir.FunctionType(ir.VoidType(), [cgutils.voidptr_t, number, number, number])
        wanted = cgutils.get_or_insert_function(builder.module, kind, "llvm.prefetch.p0")
        hints = [number(READ_AND_WRITE), number(KEEP_IN_ALL_CACHES), number(DATA)]
        builder.call(wanted, [place, *hints])
        return context.get_dummy_value()

    return signature, generate


if COMPILED:
    ask: Any = intrinsic(_prefetch)

    @jit
    def prefetch(array, index):
        """Ask for the element at a flat, unsigned index of a contiguous array; changes nothing."""
        ask(array, index)

else:

    def prefetch(array, index):
        """Ask for nothing: with the compiler off there is nobody to ask."""
