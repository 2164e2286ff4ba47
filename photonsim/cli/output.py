"""What commands print and write: words, the names of files, drawings."""

from __future__ import annotations

import signal
from collections.abc import Sequence
from itertools import repeat
from pathlib import Path
from typing import TYPE_CHECKING

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
        print_text(f"{result.name}: {words}", err=True)


def print_files(paths: Sequence[Path]) -> None:
    """Name the files that were written."""
    for path in paths:
        print_text(f"wrote {path}", err=True)


def draw(
    results: Sequence[tuple[str, Result]],
    out: Path,
    paths: int = 400,
    forms: Sequence[str] = ("png", "svg"),
    in_short: bool = False,
) -> None:
    """Draw the figures of results, given as (stem of the file names, result), and name the files.

    All of them, or with `in_short` those that show a design among several.

    Drawing takes seconds a result, so several are drawn by several processes; spawned ones, which
    every system has.
    """
    from photonsim.engine import processors, sample_paths
    from photonsim.figures import draw_all

    stems = [stem for stem, _ in results]
    found = [result for _, result in results]
    light = [sample_paths(result.scene, paths, result.seed) for result in found]
    common = (repeat(out), stems, repeat(forms), repeat(in_short))
    workers = min(processors(), len(results))
    if workers < 2:
        for files in map(draw_all, found, light, *common):
            print_files(files)
        return
    # Imported here: they take 0.03 s of a start.
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    # Ctrl-C goes to all processes of a terminal: this one ends the others.
    heard = signal.signal(signal.SIGINT, signal.SIG_IGN)
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        try:
            drawn = pool.map(draw_all, found, light, *common)
        finally:
            signal.signal(signal.SIGINT, heard)
        for files in drawn:
            print_files(files)
