"""The one place where numba is told how to compile, and where compiled code is kept.

numba's disk cache does not notice an edit in another file than the compiled function's own,
so the cache folder is named after a hash of all kernel sources: an edit anywhere makes a new one.
"""

from __future__ import annotations

import hashlib
import os
import stat
import sys
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

with warnings.catch_warnings():
    # Of a setting that it cannot read numba prints a whole traceback, and takes its default.
    warnings.filterwarnings("ignore", "Environment variable 'NUMBA_", RuntimeWarning)
    import numba
    from numba.core import config as numba_config

from photonsim.kernel.kept_code import KeptCode, say_once

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


def jit(function: Callable[..., Any]) -> Any:
    """Compile a scalar kernel function; it is folded into whatever calls it."""
    return numba.njit(**OPTIONS, forceinline=True)(function)


def jit_apart(function: Callable[..., Any]) -> Any:
    """Compile a scalar kernel function that few photons come to; it stays a function of its own."""
    return numba.njit(**OPTIONS)(function)


def jit_entry(function: Callable[..., Any]) -> Any:
    """Compile a function that the engine calls: no GIL, and kept on disk if possible."""
    compiled = numba.njit(**OPTIONS, nogil=True)(function)
    if not COMPILED:
        return compiled
    if CACHE_FOLDER is None:
        say_once(f"compiled code is not kept: {CACHE_REFUSAL}")
        return compiled
    ours, theirs = str(CACHE_FOLDER), config.CACHE_DIR
    config.CACHE_DIR = ours
    try:
        compiled._cache = KeptCode(function)
    except (OSError, RuntimeError) as error:
        say_once(f"compiled code is not kept: {error}")
    finally:
        config.CACHE_DIR = theirs
    return compiled


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


def _source_hash() -> str:
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).parent.glob("*.py")):
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()[:16]


def _user_cache() -> Path:
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA") or Path.home() / "AppData" / "Local")
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Caches"
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache")


def _only_ours(folder: Path) -> bool:
    """Tell whether nobody else can write to a folder: compiled code in it will be run."""
    if not hasattr(os, "getuid"):
        return True
    facts = folder.lstat()
    others_write = facts.st_mode & (stat.S_IWGRP | stat.S_IWOTH)
    return stat.S_ISDIR(facts.st_mode) and facts.st_uid == os.getuid() and not others_write


def _cache_folder() -> tuple[Path | None, str]:
    try:
        chosen = os.environ.get("PHOTONSIM_CACHE")
        parent = Path(chosen) if chosen else _user_cache() / "photonsim"
        folder = parent / f"kernel-{_source_hash()}"
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not (_only_ours(parent) and _only_ours(folder)):
            return None, f"{folder} could be written to by another user"
        probe = folder / f".probe-{os.getpid()}"
        probe.touch()
        probe.unlink()
    except (OSError, RuntimeError) as error:
        return None, str(error)
    return folder, ""


CACHE_FOLDER, CACHE_REFUSAL = _cache_folder() if COMPILED else (None, "")
