"""What people give to the public functions, made into what the studies take."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from os import PathLike
from pathlib import Path

from photonsim.arrays import Whole
from photonsim.results import Result, ResultError, load_result, scene_of
from photonsim.results.errors import whole_number
from photonsim.results.files.file import is_hdf5
from photonsim.results.files.soundness import LARGEST_SEED
from photonsim.scene import Scene
from photonsim.words.labels import labels_of

Place = str | PathLike[str]
Lamp = Scene | Result | Place
Lamps = Place | Sequence[Lamp] | Mapping[str, Lamp]


def named(lamps: Lamps) -> dict[str, Scene | Result]:
    """Return scenes and results by label: the key of a mapping, or else as words.labels has it."""
    if isinstance(lamps, Mapping):
        return {label: _read(lamp) for label, lamp in lamps.items()}
    found = [
        _read(lamp)
        for given in ([lamps] if isinstance(lamps, str | PathLike) else lamps)
        for lamp in (_all_files(given) if isinstance(given, str | PathLike) else [given])
    ]
    if not found:
        raise ResultError("there is nothing to compare; give two scenes or results")
    labels = labels_of([scene_of(read).title or "untitled" for read in found])
    return dict(zip(labels, found, strict=True))


def _read(lamp: Lamp) -> Scene | Result:
    """Return a scene or result itself, or that of a file."""
    if isinstance(lamp, Result):
        return lamp
    if isinstance(lamp, str | PathLike) and is_hdf5(lamp):
        return load_result(lamp)
    return scene_of(lamp)


def _all_files(path: Place) -> Sequence[Place]:
    """Return the scene files in a folder, or the file itself."""
    return sorted(Path(path).glob("*.toml")) if Path(path).is_dir() else [path]


def names(given: str | Sequence[str]) -> Sequence[str]:
    """Return names, also of one given alone."""
    return [given] if isinstance(given, str) else given


def plain_number(name: str, given: float) -> float:
    """Return a number as a plain one. Raises TypeError for what is none."""
    return plain_numbers(name, [given])[0]


def plain_numbers(name: str, given: Sequence[float]) -> list[float]:
    """Return numbers, numpy's also, as plain ones. Raises TypeError for what is none."""
    try:
        return [float(number) for number in given]
    except (TypeError, ValueError):
        raise TypeError(f"{name}: {given!r} are no numbers; give them as [8, 12, 16]") from None


def ranges(given: Mapping[str, tuple[float, float]]) -> list[tuple[str, float, float]]:
    """Return (path, low, high) of ranges by path. Raises TypeError for what is none."""
    for path, ends in given.items():
        if len(plain_numbers(path, ends)) != 2:
            raise TypeError(f"{path}: {ends!r} is no range; give it as (8, 24)")
    return [(path, float(low), float(high)) for path, (low, high) in given.items()]


def seed_of(given: Whole) -> int:
    """Return a seed. Raises ResultError."""
    return whole_number("seed", given, 0, LARGEST_SEED)


def folder_of(given: Place | None) -> Path | None:
    """Return the path of a folder, if one is given."""
    return None if given is None else Path(given)
