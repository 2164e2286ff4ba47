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


def sealed(content: bytes, what: str) -> bytes:
    """Return what a file of the format `what` holds with the digest of all of it behind."""
    return content + _head(what) + hashlib.sha256(content).hexdigest().encode() + b"\n"


def seal(path: Path, what: str) -> None:
    """Seal a file that was changed on purpose: append the digest of all that it holds."""
    path.write_bytes(sealed(path.read_bytes(), what))


def is_sealed(path: Path, what: str) -> bool:
    """Tell whether a file ends with a seal of the format `what`. Raises OSError."""
    length = _length(what)
    with path.open("rb") as file:
        file.seek(max(file.seek(0, os.SEEK_END) - length, 0))
        return _digest_in(file.read(length), what) != ""


def read_sealed(path: Path, what: str, most_bytes: int) -> bytes:
    """Return what a file of the format `what` holds before its seal.

    Raises ResultError where there is no such file, it has no seal, holds other bytes than were
    sealed, or more than `most_bytes`.
    """
    if not path.exists():
        raise ResultError(f"{path}: there is no such file")
    if not path.is_file():  # a pipe would be waited for without end
        kind = "a folder" if path.is_dir() else "no ordinary file"
        raise ResultError(f"{path}: is {kind}, not a {what} file")
    try:
        with path.open("rb") as file:
            content = file.read(most_bytes + 1)
    except OSError as error:
        raise ResultError(f"{path}: cannot be read ({error.strerror or error})") from None
    if len(content) > most_bytes:
        raise ResultError(f"{path}: is larger than any {what}")
    digest = _digest_in(content[-_length(what) :], what)
    if not digest:
        raise ResultError(
            f"{path}: is not a {what}, or was cut short, changed or damaged after it was written "
            "(no seal at its end)"
        )
    content = content[: -_length(what)]
    if hashlib.sha256(content).hexdigest() != digest:
        raise ResultError(f"{path}: was changed or damaged after it was written (digest differs)")
    return content


def _head(what: str) -> bytes:
    return f"\n{what}, sha256 ".encode()


def _length(what: str) -> int:
    return len(_head(what)) + DIGITS + 1


def _digest_in(end: bytes, what: str) -> str:
    """Return the digest that stands in the end of a file, nothing where there is no seal."""
    head = _head(what)
    if len(end) < _length(what) or not (end.startswith(head) and end.endswith(b"\n")):
        return ""
    return end[len(head) : -1].decode("ascii", "replace")
