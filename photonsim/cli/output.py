"""What commands print and write: words, the names of files, drawings."""

from __future__ import annotations

import os
import signal
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from operator import call
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

if TYPE_CHECKING:
    from photonsim.figures import Look
    from photonsim.results import Result

# macOS can fork too, but its own libraries may not be used afterwards.
FORKS = sys.platform == "linux"
# A process starts anew in the time that it takes to draw three results in short.
FEWEST_EACH = 3
# What forked processes are to do: results are large, and so need not be sent to them.
_inherited: list[Callable[[], list[Path]]] = []


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


def draw(
    results: Sequence[tuple[str, Result]],
    out: Path,
    only: Sequence[str],
    look: Look,
    formats: Sequence[str] = ("png",),
    dots_per_inch: int = 200,
    paths: int = 30,
) -> list[Path]:
    """Draw figures of results, given as (stem of the file names, result); return the files.

    Several processes draw. Where a process can be forked, which takes no time, each figure is a
    piece of their work; elsewhere all those of a result are, since a new process starts slowly.
    """
    from photonsim.engine import processors

    pieces = [(name,) for name in only] if FORKS else [tuple(only)]
    common = (out, look, formats, dots_per_inch, paths)
    work = [
        partial(_drawn, stem, result, names, *common)
        for stem, result in results
        for names in pieces
    ]
    workers = min(processors(), len(work) // (1 if FORKS else FEWEST_EACH))
    with bar("drawing", "figures" if FORKS else "designs", len(work)) as shown:
        if workers < 2:
            return _collected((piece() for piece in work), shown.update)
        # Imported here: they take 0.03 s of a start.
        from concurrent.futures import ProcessPoolExecutor
        from multiprocessing import get_context

        # Ctrl-C goes to all processes of a terminal: this one ends the others.
        heard = signal.signal(signal.SIGINT, signal.SIG_IGN)
        with ProcessPoolExecutor(workers, get_context("fork" if FORKS else "spawn")) as pool:
            try:
                if FORKS:
                    _inherited[:] = work
                    drawn = pool.map(_piece, range(len(work)))
                else:
                    drawn = pool.map(call, work)
            finally:
                signal.signal(signal.SIGINT, heard)
            return _collected(drawn, shown.update)


def _drawn(
    stem: str,
    result: Result,
    names: Sequence[str],
    out: Path,
    look: Look,
    formats: Sequence[str],
    dots_per_inch: int,
    paths: int,
) -> list[Path]:
    """Draw some figures of one result, those of the side view with as many light paths."""
    from photonsim.engine import sample_paths
    from photonsim.figures import draw_all

    seen = paths if "side_view" in names else 0
    light = sample_paths(result.scene, 0, result.seed, arriving=seen)
    return draw_all(result, light, out, stem, names, look, formats, dots_per_inch)


def _piece(number: int) -> list[Path]:
    """Do a piece of the work that a forked process has from where it was forked."""
    return _inherited[number]()


def _collected(drawn: Iterable[Sequence[Path]], step: Callable[[], object]) -> list[Path]:
    files: list[Path] = []
    for some in drawn:
        files += some
        step()
    return files


@contextmanager
def bar(label: str, unit: str, total: int | None = None) -> Iterator[Any]:
    """Give a bar of things done, with the time left, on a terminal; elsewhere one that is silent.

    The time left is by the mean over all so far, which an odd quick one doesn't upset.
    """
    from tqdm import tqdm

    with tqdm(
        desc=label,
        unit=f" {unit}",
        file=sys.stderr,
        smoothing=0,
        total=total,
        disable=not sys.stderr.isatty(),
        dynamic_ncols=True,
    ) as made:
        yield made
