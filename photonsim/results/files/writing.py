"""The one writer of files: whole or not at all, and nothing of anyone else's is lost.

A file is written under a temporary name beside its own, flushed to disk and renamed, so that a full
disk, a kill or a folder that vanished leaves what was there. What photonsim wrote and nobody
changed since is replaced; anything else by that name moves to the folder `earlier` beside. What was
written is told by its digest: a seal within, or a line in the hidden file `.photonsim-written`,
which `sha256sum --check` reads.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import sys
from collections.abc import Iterator
from pathlib import Path

from photonsim.results.errors import ResultError
from photonsim.words.escaping import visible
from photonsim.words.text import paragraph

WRITTEN = ".photonsim-written"
EARLIER = "earlier"
MOST_EARLIER = 20
# Some 45 lines a command; older ones than a few thousand are those of files long gone.
LONGEST_RECORD = 1 << 20
# Temporary files of this process that are not renamed yet, for whoever has to leave at once.
unfinished: set[Path] = set()


def write_file(path: str | os.PathLike[str], content: bytes) -> None:
    """Write a page, picture, table or scene whole; what was changed by hand moves to `earlier`.

    Raises ResultError where that cannot be done; what was there before is then untouched.
    """
    target = _real(Path(path))
    with errors_of_writing(target):
        target.parent.mkdir(parents=True, exist_ok=True)
        if target.exists():
            found = _read_ordinary(target)
            if found == content:
                _note(target, content)
                return
            kept = replace_whole(target, content, keep=not _is_noted(target, found))
            if kept:
                say_kept(target, kept)
        else:
            replace_whole(target, content)
        _note(target, content)


def replace_whole(target: Path, content: bytes, keep: bool = False) -> Path | None:
    """Put content in the place of a file in one step, the old one kept in `earlier` if asked.

    Returns where it was kept, if it was. Raises OSError; nothing has then changed.
    """
    target = _real(target)
    temporary = target.with_name(f".{target.name}.{os.getpid()}.part")
    target.parent.mkdir(parents=True, exist_ok=True)
    unfinished.add(temporary)
    try:
        temporary.unlink(missing_ok=True)
        with temporary.open("xb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        kept = set_aside(target) if keep else None
        os.replace(temporary, target)
        return kept
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)
        unfinished.discard(temporary)


def set_aside(target: Path) -> Path:
    """Move a file to `earlier` beside it, under its name and a number, and return where.

    The last MOST_EARLIER of a name are kept. Raises OSError.
    """
    folder = target.parent / EARLIER
    folder.mkdir(exist_ok=True)
    pattern = re.compile(re.escape(target.stem) + r"-(\d+)" + re.escape(target.suffix))
    there = {
        int(match[1]): item for item in folder.iterdir() if (match := pattern.fullmatch(item.name))
    }
    kept = folder / f"{target.stem}-{max(there, default=0) + 1}{target.suffix}"
    os.replace(target, kept)
    for number in sorted(there)[: max(0, len(there) + 1 - MOST_EARLIER)]:
        with contextlib.suppress(OSError):
            there[number].unlink()
    return kept


def say_kept(target: Path, kept: Path) -> None:
    """Say where what was in a file is now."""
    say(f"what was in {target} is kept as {kept}")


def say(words: str) -> None:
    """Say, beside what is answered, what becomes of a file."""
    print(paragraph(visible(words), "", "  "), file=sys.stderr, flush=True)


@contextlib.contextmanager
def errors_of_writing(target: Path, addition: str = "") -> Iterator[None]:
    """Turn what the system says about a file into a ResultError."""
    try:
        yield
    except (OSError, ValueError) as error:  # ValueError: a name with NUL in it
        why = why_not_written(error, target)
        raise ResultError(f"{target}: could not be written ({why}){addition}") from None


def why_not_written(error: Exception, target: Path) -> str:
    """Return what the system says, or that a folder's name is a file's: 'File exists' says less."""
    with contextlib.suppress(OSError, ValueError):
        for parent in target.parents:
            if parent.is_file():
                return f"{parent} is a file; name a folder"
    return str(getattr(error, "strerror", None) or error)


def _real(path: Path) -> Path:
    """Return the file that a path leads to: a link stays, and what it points to is written."""
    return path.resolve() if path.is_symlink() else path


def _read_ordinary(target: Path) -> bytes:
    if not target.is_file():
        raise ResultError(f"{target}: could not be written (it is a folder or no ordinary file)")
    return target.read_bytes()


def _line(target: Path, content: bytes) -> str:
    return f"{hashlib.sha256(content).hexdigest()}  {target.name}"


def _note(target: Path, content: bytes) -> None:
    """Note what was written, if that can be done: without a note a file counts as changed.

    A line is added in one step, so that processes that draw side by side do not lose any.
    """
    record = target.with_name(WRITTEN)
    with contextlib.suppress(OSError):
        line = _line(target, content) + "\n"
        if record.exists() and record.stat().st_size > LONGEST_RECORD:
            lines = record.read_text("utf-8", "replace").splitlines(keepends=True)
            replace_whole(record, "".join(lines[-1000:]).encode())
        with record.open("ab") as file:
            file.write(line.encode("utf-8", "surrogateescape"))


def _is_noted(target: Path, content: bytes) -> bool:
    record = target.with_name(WRITTEN)
    try:
        text = record.read_text("utf-8", "surrogateescape") if record.is_file() else ""
    except OSError:
        return False
    return _line(target, content) in text.split("\n")
