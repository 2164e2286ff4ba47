"""The numbers of a scene by their path, `train.film.z_mm`: read, set anew, written with comments.

Beside the numbers that a scene holds, the strips of a sheet have two that follow from others:
`gap_mm`, the pitch less the width, and `count`, so many equal strips over the whole sheet.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

import tomlkit
from pydantic import BaseModel

from photonsim.results import ResultError
from photonsim.scene import Mistake, Scene, SceneError, scene_from_dict

# No number of a lamp is larger, and beyond some 1e18 whole numbers are none to a computer.
LARGEST = 1e12
GAP, COUNT = "gap_mm", "count"
_STEP = re.compile(r"""(?:^|\.)(?:([A-Za-z0-9_-]+)|"([^"]*)")|\[(\d+)\]""")
_UNITS = {"_mm": "mm", "_deg": "°", "_lm": "lm", "_nm": "nm"}
Keys = tuple[str | int, ...]


def number_paths(scene: Scene) -> list[str]:
    """Return the paths of all numbers that a scene holds, those with default values included."""
    return [path for path, _ in _numbers(scene, "")]


def number_at(scene: Scene, path: str) -> float | int:
    """Return the number at a path. Raises SceneError, with the nearest path, where there is none.

    Whole numbers, such as `emitters.bars.rows`, come as int.
    """
    keys = _keys(path)
    if _is_strips(path, GAP) or _is_strips(path, COUNT):
        return _derived(scene, keys, path)
    here: Any = scene
    for key in keys:
        here = _child(here, key)
    if isinstance(here, bool) or not isinstance(here, int | float):
        raise _unknown(scene, path)
    return here


def refuse_huge(path: str, *numbers: float) -> None:
    """Raise ResultError for numbers that no lamp has, infinity and nan among them."""
    for number in numbers:
        if not abs(number) <= LARGEST:
            raise ResultError(f"{path}: {number:g} makes no sense; up to {LARGEST:g} is possible")


def is_whole(scene: Scene, path: str) -> bool:
    """Tell whether the number at a path counts things."""
    return isinstance(number_at(scene, path), int)


def unit_of(path: str) -> str:
    """Return the unit that a path's last key carries, or an empty text."""
    return next((unit for ending, unit in _UNITS.items() if path.endswith(ending)), "")


def with_numbers(
    scene: Scene, values: Mapping[str, float], ties: Mapping[str, str] | None = None
) -> Scene:
    """Return the scene with other numbers, validated again.

    `ties` maps a path to the one whose number it takes over. Raises SceneError for an unknown path
    and for numbers that make no possible lamp.
    """
    tables = tomllib.loads(scene.text)
    _change(tables, scene, values, ties or {})
    return scene_from_dict(tables, "the changed scene")


def text_with_numbers(
    scene: Scene, values: Mapping[str, float], ties: Mapping[str, str] | None = None
) -> str:
    """Return the scene's text with other numbers, its comments and order kept."""
    document = tomlkit.parse(scene.text)
    _change(document, scene, values, ties or {})
    return tomlkit.dumps(document)


def _change(
    tables: dict[str, Any], scene: Scene, values: Mapping[str, float], ties: Mapping[str, str]
) -> None:
    """Set numbers in the tables of a scene, plain ones before those that follow from others."""
    for path in (*values, *ties, *ties.values()):
        number_at(scene, path)
    counts = {path: value for path, value in values.items() if _is_strips(path, COUNT)}
    gaps = {path: value for path, value in values.items() if _is_strips(path, GAP)}
    for path, value in values.items():
        if path not in counts and path not in gaps:
            _put(tables, _keys(path), _typed(scene, path, value))
    for path, source in ties.items():
        _put(tables, _keys(path), _at(tables, scene, source))
    if counts:
        # The sheet may take its size from the housing, so the rest must stand first.
        changed = scene_from_dict(_plain(tables), "the changed scene")
        for path, value in counts.items():
            _put_count(tables, changed, _keys(path), _typed(scene, path, value))
    for path, value in gaps.items():
        _put_gap(tables, scene, path, float(value))


def _plain(tables: dict[str, Any]) -> dict[str, Any]:
    return tables.unwrap() if isinstance(tables, tomlkit.TOMLDocument) else tables


def _numbers(value: Any, path: str) -> Iterator[tuple[str, float]]:
    if isinstance(value, bool):
        return
    if isinstance(value, int | float):
        yield path, value
    elif isinstance(value, BaseModel | dict):
        names = type(value).model_fields if isinstance(value, BaseModel) else value
        for name in names:
            yield from _numbers(_child(value, name), f"{path}.{name}" if path else name)
        if path.endswith(".strips") and getattr(value, "pitch_mm", None) is not None:
            yield f"{path}.{GAP}", value.pitch_mm - value.width_mm  # type: ignore[union-attr]
            yield f"{path}.{COUNT}", 0
    elif isinstance(value, tuple):
        for place, item in enumerate(value):
            yield from _numbers(item, f"{path}[{place}]")


def _keys(path: str) -> Keys:
    keys: list[str | int] = []
    end = 0
    for step in _STEP.finditer(path):
        if step.start() != end:
            break
        bare, quoted, place = step.groups()
        keys.append(int(place) if place is not None else (bare or quoted))
        end = step.end()
    if end != len(path) or not keys:
        raise SceneError(
            [Mistake(path, "is not a path", advice="write it as train.film.z_mm")], "the paths"
        )
    return tuple(keys)


def _child(value: Any, key: str | int) -> Any:
    if isinstance(value, dict):
        return value.get(key)
    if isinstance(value, tuple):
        return value[key] if isinstance(key, int) and key < len(value) else None
    if isinstance(value, BaseModel) and key in type(value).model_fields:
        return getattr(value, str(key))
    return None


def _unknown(scene: Scene, path: str) -> SceneError:
    known = number_paths(scene)
    near = difflib.get_close_matches(path, known, n=1, cutoff=0.5)
    if not near:
        last = str(_keys(path)[-1])
        near = [other for other in known if other.split(".")[-1].startswith(last)][:1]
    advice = f"did you mean {near[0]}?" if near else f"there are {', '.join(known)}"
    return SceneError([Mistake(path, "the scene has no such number", advice=advice)], "the paths")


def _is_strips(path: str, key: str) -> bool:
    return _keys(path)[-2:] == ("strips", key)


def _strips_of(scene: Scene, keys: Keys, path: str) -> Any:
    here: Any = scene
    for key in keys[:-1]:
        here = _child(here, key)
    if getattr(here, "pitch_mm", None) is None:
        raise _unknown(scene, path)
    return here


def _derived(scene: Scene, keys: Keys, path: str) -> float | int:
    strips = _strips_of(scene, keys, path)
    if keys[-1] == GAP:
        return float(strips.pitch_mm - strips.width_mm)
    extent = _extent_across(scene, keys, strips)
    return len(strips.intervals_mm(-0.5 * extent, 0.5 * extent))


def _extent_across(scene: Scene, keys: Keys, strips: Any) -> float:
    width, height = scene.part_size_mm(str(keys[1]))
    return float(width if strips.across == "x" else height)


def _typed(scene: Scene, path: str, value: float) -> float | int:
    if is_whole(scene, path):
        if value != int(value):
            raise SceneError([Mistake(path, "must be a whole number", value)], "the values")
        return int(value)
    # 12.000000000000002 from a range is no length that anyone would write.
    return float(f"{value:.9g}")


def _put(tables: Any, keys: Keys, value: float | int) -> None:
    here = tables
    for key in keys[:-1]:
        if isinstance(key, str) and key not in here:
            # tomlkit turns a plain table into one of its own.
            here[key] = {}
        here = here[key]
    here[keys[-1]] = value


def _at(tables: Any, scene: Scene, path: str) -> Any:
    here = tables
    for key in _keys(path):
        if isinstance(here, dict) and key not in here:
            return number_at(scene, path)
        here = here[key]
    return here


def _put_count(tables: Any, scene: Scene, keys: Keys, count: float | int) -> None:
    """Spread so many strips evenly over the sheet, the covered share as before."""
    if count < 1:
        raise SceneError([Mistake(".".join(map(str, keys)), "must be at least 1", count)], "values")
    strips = _strips_of(scene, keys, ".".join(map(str, keys)))
    pitch = _extent_across(scene, keys, strips) / count
    _put(tables, (*keys[:-1], "pitch_mm"), float(f"{pitch:.9g}"))
    _put(
        tables, (*keys[:-1], "width_mm"), float(f"{pitch * strips.width_mm / strips.pitch_mm:.9g}")
    )
    # An even number has a gap in the middle, an odd one a strip.
    _put(tables, (*keys[:-1], "offset_mm"), 0.0 if count % 2 else float(f"{0.5 * pitch:.9g}"))


def _put_gap(tables: Any, scene: Scene, path: str, gap: float) -> None:
    keys = _keys(path)
    pitch = float(_at(tables, scene, path.removesuffix(GAP) + "pitch_mm"))
    if not 0.0 < gap < pitch:
        raise SceneError(
            [Mistake(path, f"must lie between 0 and the pitch, {pitch:g} mm", gap)], "the values"
        )
    _put(tables, (*keys[:-1], "width_mm"), float(f"{pitch - gap:.9g}"))
