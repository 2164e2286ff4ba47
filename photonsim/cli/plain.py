"""Reading what was given, writing what was asked for, and plain words where either fails."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from itertools import repeat
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from photonsim.leaving import USER_MISTAKE, broken_off_in_order, end

if TYPE_CHECKING:
    from photonsim.results import Result
    from photonsim.scene import Scene


@contextmanager
def told_plainly() -> Iterator[None]:
    """Turn what a person can mend into a message and exit code 2."""
    from photonsim.results import ResultError
    from photonsim.scene import SceneError

    try:
        with broken_off_in_order():
            yield
    except (ResultError, SceneError) as error:
        tell(str(error), err=True)
        sys.exit(USER_MISTAKE)
    except BrokenPipeError:  # whoever read the output is gone: click ends with code 1
        raise
    except OSError as error:  # a name too long, a loop of links, a disk that is gone
        tell(f"{error.filename or 'system'}: {error.strerror or error}", err=True)
        sys.exit(USER_MISTAKE)
    except MemoryError:
        tell("there is not enough memory for this", err=True)
        sys.exit(USER_MISTAKE)
    except KeyboardInterrupt as broken:
        end(signal.SIGTERM if "SIGTERM" in str(broken) else signal.SIGINT)


def tell(text: str, err: bool = False) -> None:
    """Print words that come from files or their names: a terminal must not obey them."""
    from photonsim.words.escaping import visible

    click.echo(visible(text), err=err)


def all_files(names: Sequence[str]) -> list[Path]:
    """Return the files that arguments stand for: a folder stands for its scene files."""
    from photonsim.results import ResultError

    files: list[Path] = []
    for path in map(Path, names):
        inside = sorted(path.glob("*.toml")) if path.is_dir() else [path]
        if not inside:
            raise ResultError(f"{path}: there are no scene files (*.toml) in this folder")
        files += inside
    return files


def read_scenes(names: Sequence[str]) -> list[tuple[Path, Scene]]:
    """Return the scenes of files and folders; the mistakes of all of them are told at once."""
    return [(path, scene) for path, scene in read_designs(names, results=False)]


def refuse_one_name(paths: Sequence[Path]) -> None:
    """Raise ResultError where two inputs would be written under one name, before any work.

    Names that differ in capitals alone are one name on many systems.
    """
    from photonsim.results import ResultError

    seen: dict[str, Path] = {}
    for path in paths:
        other = seen.setdefault(path.stem.casefold(), path)
        if other is not path:
            raise ResultError(
                f"{other} and {path}: both would be written as {path.stem}; rename one, or give "
                "each a command and a folder of its own"
            )


def read_scene(name: str) -> tuple[Path, Scene]:
    """Return the one scene of a file, or of a folder that holds one."""
    from photonsim.results import ResultError

    found = read_scenes([name])
    if len(found) > 1:
        raise ResultError(f"{name}: holds {len(found)} scenes; name the file of one")
    return found[0]


def read_designs(names: Sequence[str], results: bool = True) -> list[tuple[Path, Any]]:
    """Return the scenes and results that arguments stand for, told apart by their first bytes."""
    from photonsim.scene import SceneError, load_scene

    read: list[tuple[Path, Any]] = []
    mistaken: list[SceneError] = []
    for path in all_files(names):
        if results and is_hdf5(path):
            read.append((path, read_result(path)))
            continue
        try:
            read.append((path, load_scene(path)))
        except SceneError as error:
            mistaken.append(error)
    for mistake in mistaken:
        tell(str(mistake), err=True)
    if mistaken:
        sys.exit(USER_MISTAKE)
    return read


def read_result(path: Path) -> Result:
    """Return the result of a file, of which there is something to show."""
    from photonsim.results import ResultError, load_result

    result = load_result(path)
    if not result.photons:
        raise ResultError(f"{path}: holds no photons, so there is nothing to show; trace it first")
    return result


def is_hdf5(path: Path) -> bool:
    """Tell whether a file begins as every HDF5 file does."""
    if not path.is_file():  # a pipe would be waited for without end
        return False
    try:
        with path.open("rb") as file:
            return file.read(8) == b"\x89HDF\r\n\x1a\n"
    except OSError:
        return False


def write_text(path: Path, text: str) -> None:
    """Write a small text file, with a plain word where that cannot be done."""
    from photonsim.results.files.writing import write_file

    write_file(path, text.encode("utf-8"))


def tell_caveats(result: Result) -> None:
    """Tell what must not be overlooked in a result, where there is anything."""
    from photonsim.results.remarks.caveats import caveats

    for words in caveats(result):
        tell(f"{result.name}: {words}", err=True)


def tell_files(paths: Sequence[Path]) -> None:
    """Name the files that were written."""
    for path in paths:
        tell(f"wrote {path}", err=True)


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
            tell_files(files)
        return
    # Ctrl-C goes to all processes of a terminal: this one ends the others.
    heard = signal.signal(signal.SIGINT, signal.SIG_IGN)
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        try:
            drawn = pool.map(draw_all, found, light, *common)
        finally:
            signal.signal(signal.SIGINT, heard)
        for files in drawn:
            tell_files(files)
