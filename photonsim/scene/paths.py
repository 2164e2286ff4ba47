"""What a scene holds by its path, `train.film.z_mm`: found, read, named where it is misspelt.

Beside the keys of a scene file, the strips of a sheet have two numbers that follow from others:
`gap_mm`, the pitch less the width, and `count`, so many equal strips over the whole sheet.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from typing import Any, NamedTuple, Protocol, get_args

from photonsim.scene.fields import bare, is_number, is_table, is_whole_number
from photonsim.scene.mistakes import Mistake, SceneError
from photonsim.scene.model import SceneModel
from photonsim.scene.sheet import Sheet
from photonsim.scene.strips import Strips

GAP, COUNT = "gap_mm", "count"
_STEP = re.compile(r"""(?:^|\.)(?:([A-Za-z0-9_-]+)|"([^"]*)")|\[(\d{1,6})\]""")
_UNITS = {"_mm": "mm", "_deg": "°", "_lm": "lm", "_nm": "nm", "_ma": "mA", "_v": "V", "_lux": "lx"}
Keys = tuple[str | int, ...]


class Lamp(Protocol):
    """What is asked of a scene here."""

    @property
    def text(self) -> str:
        """The scene as TOML."""

    @property
    def train(self) -> dict[str, Any]:
        """The parts by name."""

    def part_size_mm(self, name: str) -> tuple[float, float]:
        """Width and height of a part in mm."""


class Found(NamedTuple):
    """What stands at a path, None where a key is left out, and the kind of value that belongs."""

    value: Any
    kind: Any


def keys_of(path: str) -> Keys:
    """Return the keys of a path. Raises SceneError for what is none."""
    keys: list[str | int] = []
    end = 0
    for step in _STEP.finditer(path):
        if step.start() != end:
            break
        bare_key, quoted, place = step.groups()
        keys.append(int(place) if place is not None else (bare_key or quoted or ""))
        end = step.end()
    if end != len(path) or not keys:
        raise SceneError(
            [Mistake(path, "is not a path", advice="write it as train.film.z_mm")], "the paths"
        )
    return tuple(keys)


def found_at(scene: Lamp, keys: Keys) -> Found | None:
    """Return what stands at some keys; None where the scene knows no such keys."""
    value: Any = scene
    kind: Any = type(scene)
    for key in keys:
        if isinstance(value, SceneModel):
            kind = type(value)  # of a part, the model says more than that it is one
        if is_table(kind):
            field = kind.model_fields.get(str(key))
            if field is None:
                return None
            value, kind = getattr(value, str(key), None), bare(field.annotation)
        elif isinstance(value, dict):
            if key not in value:
                return None
            inner = get_args(kind)  # of what a variant holds nothing is known
            value, kind = value[key], bare(inner[1]) if inner else Any
        elif isinstance(value, tuple) and isinstance(key, int) and key < len(value):
            value, kind = value[key], bare(get_args(kind)[0])
        else:
            return None
    return Found(value, kind)


def number_paths(scene: Lamp) -> list[str]:
    """Return the paths of all numbers that a scene holds, those with default values included."""
    return [
        path
        for path, (value, kind) in _leaves(Found(scene, type(scene)), "")
        if value is not None and is_number(kind)
    ]


def number_at(scene: Lamp, path: str) -> float | int:
    """Return the number at a path.

    Whole numbers, such as `emitters.bars.rows`, come as int. Raises SceneError, with the nearest
    path, where there is none, or where it was left out and has no default.
    """
    keys = keys_of(path)
    if is_derived(keys):
        return _derived(scene, keys, path)
    found = _number(scene, path)
    if found.value is None:
        advice = "give it a number in the scene first"
        raise SceneError([Mistake(path, "is left out", advice=advice)], "the paths")
    number: float | int = found.value
    return number


def is_whole(scene: Lamp, path: str) -> bool:
    """Tell whether the number at a path counts things. Raises SceneError for an unknown path."""
    keys = keys_of(path)
    if is_derived(keys):
        strips_at(scene, keys, path)
        return keys[-1] == COUNT
    return is_whole_number(_number(scene, path).kind)


def unit_of(path: str) -> str:
    """Return the unit that a path's last key carries, or an empty text."""
    return next((unit for ending, unit in _UNITS.items() if path.endswith(ending)), "")


def is_derived(keys: Keys) -> bool:
    """Tell whether keys are those of a number of strips that follows from others."""
    return keys[-2:] in (("strips", GAP), ("strips", COUNT))


def unknown(scene: Lamp, path: str, word: str = "key") -> SceneError:
    """Return the error of a path that a scene has not, with the nearest that it has."""
    leaves = _leaves(Found(scene, type(scene)), "")
    known = [known for known, found in leaves if word == "key" or is_number(found.kind)]
    near = difflib.get_close_matches(path, known, n=1, cutoff=0.5)
    if not near:
        last = str(keys_of(path)[-1])
        near = [other for other in known if other.split(".")[-1].startswith(last)][:1]
    advice = f"did you mean {near[0]}?" if near else "`photonsim keys` lists what there is"
    return SceneError([Mistake(path, f"the scene has no such {word}", advice=advice)], "the paths")


def strips_at(scene: Lamp, keys: Keys, path: str) -> Strips:
    """Return the equal strips that a derived number belongs to. Raises SceneError for others."""
    found = found_at(scene, keys[:-1])
    if found is None or not isinstance(found.value, Strips) or found.value.pitch_mm is None:
        raise unknown(scene, path, "number")
    return found.value


def extent_across(scene: Lamp, keys: Keys) -> float:
    """Return the size of a sheet in mm along the axis across its strips."""
    sheet: Sheet = scene.train[str(keys[1])]
    width, height = scene.part_size_mm(str(keys[1]))
    return width if sheet.strips is not None and sheet.strips.across == "x" else height


def _number(scene: Lamp, path: str) -> Found:
    found = found_at(scene, keys_of(path))
    if found is None or not is_number(found.kind):
        raise unknown(scene, path, "number")
    return found


def _leaves(found: Found, path: str) -> Iterator[tuple[str, Found]]:
    """Yield every number and word by its path, those that were left out included."""
    value, kind = found
    if isinstance(value, SceneModel) or is_table(kind):
        fields = (type(value) if isinstance(value, SceneModel) else kind).model_fields
        for name, field in fields.items():
            inner = Found(getattr(value, name, None), bare(field.annotation))
            if (path, name) != ("", "variants"):
                yield from _leaves(inner, f"{path}.{name}" if path else name)
        if isinstance(value, Strips) and value.pitch_mm is not None:
            yield f"{path}.{GAP}", Found(value.pitch_mm - (value.width_mm or 0.0), float)
            yield f"{path}.{COUNT}", Found(0, int)
    elif isinstance(value, dict):
        for name, item in value.items():
            yield from _leaves(Found(item, bare(get_args(kind)[1])), f"{path}.{name}")
    elif isinstance(value, tuple):
        for place, item in enumerate(value):
            yield from _leaves(Found(item, bare(get_args(kind)[0])), f"{path}[{place}]")
    else:
        yield path, found


def _derived(scene: Lamp, keys: Keys, path: str) -> float | int:
    strips = strips_at(scene, keys, path)
    if keys[-1] == GAP:
        return float((strips.pitch_mm or 0.0) - (strips.width_mm or 0.0))
    extent = extent_across(scene, keys)
    return len(strips.intervals_mm(-0.5 * extent, 0.5 * extent))
