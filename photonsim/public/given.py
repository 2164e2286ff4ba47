"""What people give to the public functions, made into what the studies take."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from os import PathLike, fspath
from pathlib import Path

from photonsim.arrays import Whole
from photonsim.results import Result, ResultError, load_result, scene_of
from photonsim.results.errors import whole_number
from photonsim.results.files.file import is_hdf5
from photonsim.results.files.soundness import LARGEST_SEED
from photonsim.results.files.sources import sources_of
from photonsim.scene import Scene
from photonsim.words.labels import labels_of

Place = str | PathLike[str]
Lamp = Scene | Result | Place
Lamps = Lamp | Sequence[Lamp] | Mapping[str, Lamp]


def named(lamps: Lamps, variants: bool = True) -> dict[str, Scene | Result]:
    """Return scenes and results by label: the key of a mapping, or else as words.labels has it.

    A file stands for its scene and, with `variants`, for those in it, a folder for the scenes in
    it, or else the results; under a key of a mapping a file is its scene alone.
    """
    if isinstance(lamps, Mapping):
        return {label: _read(lamp) for label, lamp in lamps.items()}
    if isinstance(lamps, str | PathLike | Scene | Result):
        lamps = [lamps]
    found = [design for given in lamps for design in _designs(given, variants)]
    if not found:
        raise ResultError("there is nothing to compare; give two scenes or results")
    stems = [stem for stem, _ in found]
    titles = [scene_of(lamp).title or stem or "untitled" for stem, lamp in found]
    return dict(zip(labels_of(titles, stems), (lamp for _, lamp in found), strict=True))


def _designs(given: Lamp, variants: bool) -> Iterator[tuple[str, Scene | Result]]:
    """Yield what is given, with the stem of its file where it has one."""
    if not isinstance(given, str | PathLike):
        yield "", _read(given)
        return
    for source in sources_of([fspath(given)]):
        lamp = _read(str(source))
        yield source.stem, lamp
        if variants and isinstance(lamp, Scene):
            for name in lamp.variants:
                one = replace(source, variant=name)
                yield one.stem, scene_of(str(one))


def _read(lamp: Lamp) -> Scene | Result:
    """Return a scene or result itself, or that of a file."""
    if isinstance(lamp, Result):
        return lamp
    if isinstance(lamp, str | PathLike) and is_hdf5(lamp):
        return load_result(lamp)
    return scene_of(lamp)


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
