"""The seal at the end of a file: a digest of every byte before it, behind what HDF5 reads.

A good file is told by it from one cut short or changed before the library sees it: one flipped byte
had that ask for 3.5 GB.
"""

from __future__ import annotations

import hashlib
import os
from pathlib import Path

from photonsim.results.errors import ResultError

# Hexadecimal digits of a SHA-256 digest.
DIGITS = 64


def seal(path: Path, what: str) -> None:
    """Append the digest of all that a file of the format `what` holds, and flush it to disk."""
    with path.open("rb+") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
        file.seek(0, os.SEEK_END)
        file.write(_head(what) + digest.encode() + b"\n")
        file.flush()
        os.fsync(file.fileno())


def is_sealed(path: Path, what: str) -> bool:
    """Tell whether a file ends with a seal of the format `what`. Raises OSError."""
    return _seal_of(path, what) != b""


def refuse_changed(path: Path, what: str) -> None:
    """Raise ResultError where a file has no seal, or holds other bytes than were sealed."""
    sealed = _seal_of(path, what)
    if not sealed:
        raise ResultError(
            f"{path}: is not a {what}, or was cut short, changed or damaged after it was written "
            "(no seal at its end)"
        )
    if _digest_of(path, what) != sealed:
        raise ResultError(f"{path}: was changed or damaged after it was written (digest differs)")


def _head(what: str) -> bytes:
    return f"\n{what}, sha256 ".encode()


def _length(what: str) -> int:
    return len(_head(what)) + DIGITS + 1


def _seal_of(path: Path, what: str) -> bytes:
    """Return the digest that stands in a file's seal, nothing where it has no seal."""
    head, length = _head(what), _length(what)
    with path.open("rb") as file:
        file.seek(max(file.seek(0, os.SEEK_END) - length, 0))
        end = file.read(length)
    if len(end) < length or not (end.startswith(head) and end.endswith(b"\n")):
        return b""
    return end[len(head) : -1]


def _digest_of(path: Path, what: str) -> bytes:
    """Return the digest of all that stands before a file's seal."""
    digest = hashlib.sha256()
    with path.open("rb") as file:
        left = file.seek(0, os.SEEK_END) - _length(what)
        file.seek(0)
        while left > 0 and (piece := file.read(min(left, 1 << 20))):
            digest.update(piece)
            left -= len(piece)
    return digest.hexdigest().encode()
