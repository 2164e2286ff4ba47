"""What was named on the command line: files and folders of scenes, and results."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from photonsim.cli.output import print_text
from photonsim.leaving import USER_MISTAKE

if TYPE_CHECKING:
    from photonsim.results import Result
    from photonsim.scene import Scene


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
        print_text(str(mistake), err=True)
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
