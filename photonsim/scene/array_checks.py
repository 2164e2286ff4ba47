"""Whether the arrays of emitters fit the housing, the train and one another."""

from __future__ import annotations

import bisect
import itertools
import math
from collections.abc import Iterator, Mapping
from typing import NamedTuple

from photonsim.scene.emitters import Emitter
from photonsim.scene.housing import Housing
from photonsim.scene.mistakes import Mistake, join_path
from photonsim.scene.part import Part

MOST_EMITTERS = 1_000_000
MOST_GROUPS = 100

# One nanometre: what rounding makes of 0.1 + 0.2 against 0.3 is no overlap.
SLACK_MM = 1.0e-6


def array_mistakes(
    groups: Mapping[str, Emitter], housing: Housing | None, train: Mapping[str, Part]
) -> Iterator[Mistake]:
    """Every mistake in the place of the emitters."""
    first = min(train.items(), key=lambda item: item[1].z_mm, default=None)
    total = sum(group.count for group in groups.values())
    groups = {name: group for name, group in groups.items() if group.edge is None}
    for name, group in groups.items():
        path = join_path("emitters", name)
        if housing is not None:
            yield from _outside_housing(path, group, housing)
        if first is not None and group.z_mm >= first[1].z_mm:
            yield Mistake(
                f"{path}.z_mm",
                f"must be less than {first[1].z_mm:g}, the height of {first[0]}, the first part",
                group.z_mm,
            )
    if total > MOST_EMITTERS:
        yield Mistake("emitters", f"{total:,} emitters in all, {MOST_EMITTERS:,} at most")
        return
    if len(groups) > MOST_GROUPS:
        return  # refused for their number; all pairs of thousands would take minutes
    arrays = {name: _Array.of(group) for name, group in groups.items()}
    for (before, one), (after, other) in itertools.combinations(arrays.items(), 2):
        if _overlap(one, other):
            yield Mistake(
                join_path("emitters", after),
                f"overlaps the emitters of {before} in the same plane",
                advice="move one of the groups, or make its emitters smaller",
            )


def _outside_housing(path: str, group: Emitter, housing: Housing) -> Iterator[Mistake]:
    if group.z_mm > housing.depth_mm:
        yield Mistake(
            f"{path}.z_mm",
            f"lies beyond the housing's depth_mm = {housing.depth_mm:g}",
            group.z_mm,
        )
        return
    opening = housing.opening_mm(group.z_mm)
    axes = (
        ("x", group.x_mm, group.columns, group.pitch_x_mm, housing.width_mm, opening[0]),
        ("y", group.y_mm, group.rows, group.pitch_y_mm, housing.height_mm, opening[1]),
    )
    for (axis, centre, count, pitch, base, room), size in zip(axes, group.size_mm, strict=True):
        reach = 0.5 * ((count - 1) * (pitch or 0.0) + size)
        limit = 0.5 * min(base, room)
        if abs(centre) + reach > limit + SLACK_MM:
            yield Mistake(
                f"{path}.{axis}_mm",
                f"the emitters reach from {centre - reach:.6g} to {centre + reach:.6g} mm along "
                f"{axis}, but the housing only from {-limit:.6g} to {limit:.6g} mm",
                centre,
            )


class _Array(NamedTuple):
    """The places of an array's emitters, and their size as half a rectangle or a radius."""

    z: float
    columns: list[float]
    rows: list[float]
    half_width: float
    half_height: float
    radius: float

    @classmethod
    def of(cls, group: Emitter) -> _Array:
        width, height = group.size_mm
        half = (
            (0.0, 0.0, 0.5 * width) if group.shape == "disc" else (0.5 * width, 0.5 * height, 0.0)
        )
        return cls(group.z_mm, group.columns_mm(), group.rows_mm(), *half)


def _overlap(one: _Array, other: _Array) -> bool:
    """Whether any emitter of one array covers part of one of the other.

    Both arrays are products of columns and rows, so the closest pair has the least distance
    along x and along y at once: two short searches, the shorter first, in place of all pairs.
    """
    if abs(one.z - other.z) > SLACK_MM:
        return False
    axes = [
        (one.columns, other.columns, one.half_width + other.half_width),
        (one.rows, other.rows, one.half_height + other.half_height),
    ]
    radii = one.radius + other.radius
    gaps = []
    for some, others, half in sorted(axes, key=lambda axis: min(len(axis[0]), len(axis[1]))):
        distance = _least_distance(some, others)
        if distance >= half + radii - SLACK_MM:
            return False
        gaps.append(max(0.0, distance - half))
    return radii == 0.0 or math.hypot(*gaps) < radii - SLACK_MM


def _least_distance(some: list[float], others: list[float]) -> float:
    """Least distance between a number of one rising list and one of the other."""
    fewer, more = sorted((some, others), key=len)
    least = math.inf
    for value in fewer:
        place = bisect.bisect(more, value)
        for neighbour in more[max(0, place - 1) : place + 1]:
            least = min(least, abs(neighbour - value))
    return least
