"""The one place where numba is told how to compile."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

with warnings.catch_warnings():
    # Of a setting that it cannot read numba prints a whole traceback, and takes its default.
    warnings.filterwarnings("ignore", "Environment variable 'NUMBA_", RuntimeWarning)
    import numba
    from numba.core import config as numba_config

# numba makes these settings at import, out of a type checker's sight.
config: Any = numba_config
COMPILED = not config.DISABLE_JIT

# No reference counting: the kernel makes no arrays, and counting those of the program at every
# access cost a factor of 12 (0.28 against 3.5 million histories a second). Of fast math only what
# cannot change a finite result, so that all processors agree to the last bit: 5 %.
OPTIONS: dict[str, Any] = {
    "error_model": "numpy",
    "_nrt": False,
    "fastmath": {"nnan", "ninf", "nsz"},
}

# Nothing beside the function itself: nobody calls it from Python through numba.
ALONE: dict[str, Any] = {"no_cpython_wrapper": True, "no_cfunc_wrapper": True}


def jit(function: Callable[..., Any]) -> Any:
    """Compile a scalar kernel function; it is folded into whatever calls it."""
    return numba.njit(**OPTIONS, forceinline=True)(function)


def jit_apart(function: Callable[..., Any]) -> Any:
    """Compile a scalar kernel function that few photons come to; it stays a function of its own."""
    return numba.njit(**OPTIONS)(function)


def machine_code(function: Callable[..., None], arguments: Sequence[Any]) -> bytes:
    """Return a function compiled for such arguments: its symbol, a line feed and an object file."""
    compiled = numba.njit(**OPTIONS, **ALONE)(function)
    types = tuple(numba.typeof(argument) for argument in arguments)
    compiled.compile(types)
    found = compiled.overloads[types]
    if found.signature.return_type != numba.none:
        raise TypeError(f"{function.__name__} returns something: it can only write to arrays")
    return found.fndesc.llvm_func_name.encode() + b"\n" + found.library._get_compiled_object()


def constant(value: float) -> Any:
    """Return a literal whose type gives way to that of the variables beside it.

    Compiled, a float32 constant leaves a double expression double and a single one single.
    Uncompiled, numpy would round the partner down instead, so a Python float serves there.
    """
    if not COMPILED:
        return float(value)
    if float(np.float32(value)) != value:
        raise ValueError(f"{value} is not exact in single precision")
    return np.float32(value)
