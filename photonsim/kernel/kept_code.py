"""Compiled code on disk that may be damaged, and a disk that may be full: then it is compiled anew.

The folder is named after a hash of all kernel sources, since a function folds in what stands in
other files: an edit anywhere makes a new one. What is read will be run, so a folder that somebody
else could write to is refused, and a digest stands before what each file holds.
"""

from __future__ import annotations

import hashlib
import os
import stat
import sys
import tempfile
from functools import lru_cache
from pathlib import Path

DIGEST_BYTES = 32
_said: set[str] = set()


def kept(name: str) -> bytes | None:
    """Return what is kept under a name; None, and a line says why, where that is of no use."""
    folder = folder_of_kept()
    if folder is None:
        return None
    path = folder / name
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        say_once(f"compiled code in {folder} can't be used ({error.strerror}); compiling anew")
        return None
    if hashlib.sha256(content[DIGEST_BYTES:]).digest() != content[:DIGEST_BYTES]:
        say_once(f"compiled code in {folder} can't be used ({name} is damaged); compiling anew")
        return None
    return content[DIGEST_BYTES:]


def keep(name: str, content: bytes) -> None:
    """Keep something under a name, whole or not at all; a line says why where it is not."""
    folder = folder_of_kept()
    if folder is None:
        return
    try:
        handle, made = tempfile.mkstemp(dir=folder)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(hashlib.sha256(content).digest() + content)
            os.replace(made, folder / name)
        except OSError:
            os.unlink(made)
            raise
    except OSError as error:
        say_once(f"compiled code is not kept in {folder} ({error.strerror})")


@lru_cache
def folder_of_kept() -> Path | None:
    """Return the folder of these sources, made if need be; None where there can be none."""
    try:
        chosen = os.environ.get("PHOTONSIM_CACHE")
        parent = Path(chosen) if chosen else _user_cache() / "photonsim"
        folder = parent / f"kernel-{_source_hash()}"
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        if not (_only_ours(parent) and _only_ours(folder)):
            say_once(f"compiled code is not kept: {folder} could be written to by another user")
            return None
    except (OSError, RuntimeError) as error:
        say_once(f"compiled code is not kept: {error}")
        return None
    return folder


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


def say_once(line: str) -> None:
    """Tell something about the cache, once a process."""
    if line not in _said:
        _said.add(line)
        print(line, file=sys.stderr, flush=True)
