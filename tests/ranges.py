"""Figures of a part of any kind, by the ranges of its model alone."""

from __future__ import annotations

import itertools
from typing import Annotated, Any, NamedTuple, get_args, get_origin

from photonsim.scene import SceneError
from photonsim.scene.part import Part

Plain = dict[str, Any]
# Wide enough for every length of a part and small enough for the lamps that tests put it into.
MOST_MM = 50.0


class Range(NamedTuple):
    """What a number of a model may be, within MOST_MM, and whether it must be given."""

    low: float
    high: float
    is_whole: bool
    is_required: bool


def ranges_of(part: type[Part]) -> dict[str, Range]:
    """Return the range of every number of a model but its height."""
    ranges = {}
    for key, field in part.model_fields.items():
        for option in (field.annotation, *get_args(field.annotation)):
            base, *notes = get_args(option) if get_origin(option) is Annotated else (option,)
            if base not in (float, int) or key == "z_mm":
                continue
            notes += [note for item in notes for note in getattr(item, "metadata", ())]
            limits = {type(note).__name__.lower(): note for note in (*field.metadata, *notes)}
            low = next((getattr(limits[k], k) for k in ("ge", "gt") if k in limits), 0.0)
            high = next((getattr(limits[k], k) for k in ("le", "lt") if k in limits), MOST_MM)
            ends = max(low, -MOST_MM), min(high, MOST_MM)
            ranges[key] = Range(*ends, base is int, field.is_required())
    return ranges


def is_part(part: type[Part], plain: Plain) -> bool:
    """Tell whether a model takes these figures."""
    try:
        part(**(plain | {"z_mm": 20.0}))
    except SceneError:
        return False
    return True


def middle_of(part: type[Part]) -> Plain:
    """Return figures near the middle of their ranges: what a model asks for, or one or two more.

    Raises ValueError for a model that these do not satisfy.
    """
    ranges = ranges_of(part)
    figures = {key: low + 0.4 * (high - low) for key, (low, high, *_) in ranges.items()}
    figures = {key: round(v) if ranges[key].is_whole else v for key, v in figures.items()}
    asked = {key: value for key, value in figures.items() if ranges[key].is_required}
    for more in (more for count in range(3) for more in itertools.combinations(figures, count)):
        plain = asked | {key: figures[key] for key in more}
        if is_part(part, plain):
            return plain
    raise ValueError(f"{part.__name__}: needs a line of its own among the typical parts")
