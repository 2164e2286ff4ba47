"""Functions that the engine calls: compiled once, and from then on loaded and called without numba.

To import numba and to load what its own cache keeps takes longer than to trace a million photons.
So machine code is kept by itself, linked by LLVM alone, and called as numba's calling convention
has it: status f(result*, exception**, words...), where an array comes as two owners, its length,
the bytes of an item, its address, its shape and its strides, and a tuple as its members in turn.
"""

from __future__ import annotations

import ctypes
import hashlib
import os
import sys
import threading
from collections.abc import Callable, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import llvmlite
import numpy as np
from llvmlite import binding

from photonsim.kernel.kept_code import keep, kept

RETURNED_NOTHING = -2
_linking = threading.Lock()
# Runs a function on its arguments, as words or, uncompiled, as they are; returns its status.
Call = Callable[[Sequence[int | float], Sequence[Any]], int]


class Flat:
    """An argument that is handed over again and again, taken apart once; it keeps what it holds."""

    def __init__(self, value: Any) -> None:
        self.value = value
        self.types: list[str] = []
        self.words: list[int | float] = []
        _flatten(value, self.types, self.words)


class Entry:
    """A compiled function that returns nothing and writes to the arrays that it is given.

    Its arguments are arrays in C order, whole and real numbers, tuples of such, and Flat; for each
    combination of their types it is compiled once. The GIL is released while it runs. `find`
    returns the function itself, and is called only if that has to be compiled.
    """

    def __init__(self, name: str, find: Callable[[], Callable[..., None]]) -> None:
        self.name, self._find = name, find
        self._calls: dict[tuple[str, ...], Call] = {}

    @property
    def py_func(self) -> Callable[..., None]:
        """The function itself."""
        return self._find()

    def __call__(self, *arguments: Any) -> None:
        """Run the function. Raises RuntimeError where compiled code reports an error."""
        types: list[str] = []
        words: list[int | float] = []
        _flatten(arguments, types, words)
        key = tuple(types)
        call = self._calls.get(key)
        if call is None:
            with _linking:
                call = self._calls.get(key) or self._prepared(key, arguments)
                self._calls[key] = call
        if status := call(words, arguments):
            raise RuntimeError(f"{self.name} broke off with status {status}")

    def _prepared(self, types: tuple[str, ...], arguments: Sequence[Any]) -> Call:
        """Return what runs the function, from what is kept on disk or compiled anew."""
        name = f"{self.name}-{_digest(self.name, *types, *_compilers())}"
        content = kept(name)
        if content is None:
            from photonsim.kernel.compiler import COMPILED, machine_code

            function = self.py_func
            if not COMPILED:
                return lambda words, arguments: function(*_plain(arguments)) or 0
            content = machine_code(function, _plain(arguments))
            keep(name, content)
        symbol, _, code = content.partition(b"\n")
        return _linked(symbol.decode(), code, types)


def jit_entry(function: Callable[..., None]) -> Entry:
    """Make an entry of a function that is at hand."""
    return Entry(function.__name__, lambda: function)


def _flatten(value: Any, types: list[str], words: list[int | float]) -> None:
    """Add the types of a value and of all in it, and the words by which it is handed over."""
    if isinstance(value, Flat):
        types += value.types
        words += value.words
    elif isinstance(value, tuple):
        types.append(type(value).__name__)
        for member in value:
            _flatten(member, types, words)
    elif isinstance(value, np.ndarray):
        if not value.flags.carray:
            raise ValueError("arrays for compiled code must be writeable and in C order")
        types.append(f"{value.ndim}{value.dtype.str}")
        address = value.__array_interface__["data"][0]
        words += (0, 0, value.size, value.itemsize, address, *value.shape, *value.strides)
    else:
        types.append(np.dtype(type(value)).str)
        words.append(value.item() if isinstance(value, np.generic) else value)


def _plain(arguments: Sequence[Any]) -> list[Any]:
    return [each.value if isinstance(each, Flat) else each for each in arguments]


def _linked(symbol: str, code: bytes, types: Sequence[str]) -> Call:
    """Return what runs machine code."""
    if sys.platform == "win32":
        # Elsewhere LLVM finds log and pow in the process; there numba tells it where they are.
        from numba.core.registry import cpu_target

        cpu_target.target_context  # noqa: B018
    binding.initialize_native_target()
    binding.initialize_native_asmprinter()
    machine = binding.Target.from_default_triple().create_target_machine(jit=True)
    linker = binding.create_mcjit_compiler(binding.parse_assembly(""), machine)
    linker.add_object_file(binding.ObjectFileRef.from_data(code))
    linker.finalize_object()
    words = [kind for each in types for kind in _ctypes_of(each)]
    prototype = ctypes.CFUNCTYPE(ctypes.c_int32, ctypes.c_void_p, ctypes.c_void_p, *words)
    function = prototype(linker.get_function_address(symbol))

    def call(words: Sequence[int | float], arguments: Sequence[Any]) -> int:
        result, exception = (ctypes.c_void_p * 1)(), (ctypes.c_void_p * 1)()
        status = int(function(ctypes.addressof(result), ctypes.addressof(exception), *words))
        return 0 if status == RETURNED_NOTHING else status

    # What is linked lives as long as its linker.
    call.linker = linker  # type: ignore[attr-defined]
    return call


def _ctypes_of(type_name: str) -> list[Any]:
    """Return the kinds of the words of an array or a number; none for the name of a tuple."""
    if type_name[0].isdigit():
        return [ctypes.c_int64] * (5 + 2 * int(type_name[0]))
    return [np.ctypeslib.as_ctypes_type(type_name)] if type_name[0] in "<>|=" else []


def _compilers() -> list[str]:
    """Return all that compiled code depends on besides its sources."""
    spec = find_spec("numba")
    assert spec is not None and spec.origin is not None
    version = Path(spec.origin).with_name("_version.py").read_text(encoding="utf-8")
    settings = sorted(f"{k}={v}" for k, v in os.environ.items() if k.startswith("NUMBA_"))
    features = binding.get_host_cpu_features().flatten()
    return [version, llvmlite.__version__, binding.get_host_cpu_name(), features, *settings]


def _digest(*texts: str) -> str:
    return hashlib.sha256("\n".join(texts).encode()).hexdigest()[:16]
