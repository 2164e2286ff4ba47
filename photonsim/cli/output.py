"""What commands print and write: words, the names of files, bars."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from photonsim.results import Result


def print_text(text: str, err: bool = False) -> None:
    """Print words that come from files or their names: a terminal must not obey them."""
    from photonsim.words.escaping import visible

    click.echo(visible(text), err=err)


def write_text(path: Path, text: str) -> None:
    """Write a small text file, with a plain word where that cannot be done."""
    from photonsim.results.files.writing import write_file

    write_file(path, text.encode("utf-8"))


def print_caveats(result: Result) -> None:
    """Tell what must not be overlooked in a result, where there is anything."""
    from photonsim.results.remarks.caveats import caveats

    for words in caveats(result):
        print_remark(f"{result.name}: {words}")


def print_remark(words: str) -> None:
    """Print a remark in lines of 80 columns, beside what a command answers."""
    from photonsim.words.text import paragraph

    print_text(paragraph(words, "", "  "), err=True)


# What files are to a person, by their suffix, in the order that they are told in.
KINDS = {
    "page": (".html", ".md"),
    "table": (".csv",),
    "picture": (".png", ".svg", ".pdf"),
    "scene": (".toml",),
    "HDF5 file": (".h5",),
}
# So many names are read; more are counted.
FEW = 2


def print_files(paths: Sequence[Path]) -> None:
    """Name the files that were written: a few by name, many by kind and folder, on one line."""
    folders: dict[Path, list[Path]] = {}
    for path in paths:
        folders.setdefault(path.parent, []).append(path)
    if folders:
        print_remark(f"wrote {'; '.join(map(_files_in, folders, folders.values()))}")


def _files_in(folder: Path, paths: Sequence[Path]) -> str:
    if len(paths) <= FEW:
        return " and ".join(map(str, paths))
    counts = {kind: sum(path.suffix in ends for path in paths) for kind, ends in KINDS.items()}
    *told, last = [f"{n} {kind}{'s' * (n > 1)}" for kind, n in counts.items() if n]
    return f"{', '.join(told)}{' and ' * bool(told)}{last} to {folder}{os.sep}"


@contextmanager
def bar(label: str, unit: str, total: int | None = None) -> Iterator[Any]:
    """Give a bar of things done, with the time left, on a terminal; elsewhere one that is silent.

    The time left is by the mean over all so far, which an odd quick one doesn't upset.
    """
    from photonsim.engine.progress import unwatched_bar

    hidden = not sys.stderr.isatty()
    with unwatched_bar(
        desc=label, unit=f" {unit}", smoothing=0, total=total, disable=hidden
    ) as made:
        yield made
