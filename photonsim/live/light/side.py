"""The side view as shapes to scale in mm, for the page's own script to draw."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import Any

from photonsim.figures.lamp.side_view_parts import SIDES, half_extent_mm
from photonsim.results import LightPath
from photonsim.scene import LightPlate, Panel, RealLens, Scene
from photonsim.scene.sheet import Sheet
from photonsim.scene.stands import stands_of

PLACES = 2
FACE_POINTS = 9
# Enough to show where light goes, few enough to see each.
PATHS_OF_GROUP = 10

Shape = dict[str, Any]


def side_of(scene: Scene) -> dict[str, Any]:
    """Return the lamp seen from the side and from above: extent in mm, shapes and labels."""
    end = max(scene.housing.depth_mm, *(part.end_mm for part in scene.train.values()))
    labels = [(stand.z_mm, name) for name, stand in stands_of(scene).items()]
    labels += [(part.z_mm, name) for name, part in scene.train.items()]
    return {
        "low": round(-0.04 * end, PLACES),
        "high": round(1.02 * end, PLACES),
        "labels": [{"z": z, "words": f"{name}, {z:g} mm"} for z, name in sorted(labels)],
        "planes": [
            {
                "axis": axis,
                "half": half_extent_mm(scene, axis),
                "shapes": list(_shapes(scene, axis)),
            }
            for axis in ("y", "x")
        ],
    }


def paths_of(paths: Sequence[LightPath]) -> dict[str, Any]:
    """Return a few paths of each group of fates, as (z, y) and (z, x) in mm, and their counts."""
    groups = sorted({path.group for path in paths}, key=lambda group: group == "stop")
    return {
        "of": len(paths),
        "groups": [
            {
                "group": group,
                "count": len(members := [path for path in paths if path.group == group]),
                "y": [_line(path, "y") for path in members[:PATHS_OF_GROUP]],
                "x": [_line(path, "x") for path in members[:PATHS_OF_GROUP]],
            }
            for group in groups
        ],
    }


def _line(path: LightPath, axis: str) -> list[list[float]]:
    found: list[list[float]] = path.points[:, (2, SIDES[axis])].round(PLACES).tolist()
    return found


def _shape(ink: str, points: Sequence[tuple[float, float]], is_area: bool = False) -> Shape:
    rounded = [[round(z, PLACES), round(side, PLACES)] for z, side in points]
    return {"ink": ink, "points": rounded, "area": is_area}


def _shapes(scene: Scene, axis: str) -> Iterator[Shape]:
    """Yield areas and lines, what lies behind first. `ink` names what a shape is."""
    yield from _housing(scene, axis)
    side, edge = SIDES[axis], half_extent_mm(scene, axis)
    for stand in stands_of(scene).values():
        half = 0.5 * stand.size_mm[side]
        deep = 0.0 if half else 0.5 * stand.size_mm[2]
        for centre in stand.columns_mm if axis == "x" else stand.rows_mm:
            ends = [(stand.z_mm - deep, centre - half), (stand.z_mm + deep, centre + half)]
            yield _shape("emitter", ends)
    for name, part in scene.train.items():
        half = 0.5 * scene.part_size_mm(name)[side]
        if isinstance(part, RealLens):
            yield _shape("glass", _section(part, half), is_area=True)
        elif isinstance(part, Panel):
            active = 0.5 * (part.active_width_mm if axis == "x" else part.active_height_mm)
            yield _shape("panel", [(part.z_mm, -active), (part.z_mm, active)])
            for sign in (-1.0, 1.0):
                yield _shape("frame", [(part.z_mm, sign * active), (part.z_mm, sign * half)])
        elif part.kind == "aperture_stop":
            for sign in (-1.0, 1.0):
                yield _shape("frame", [(part.z_mm, sign * half), (part.z_mm, sign * edge)])
        elif isinstance(part, LightPlate):
            corners = [(part.z_mm, -half), (part.z_mm, half), (part.end_mm, half)]
            yield _shape("glass", [*corners, (part.end_mm, -half)], is_area=True)
        elif isinstance(part, Sheet):
            yield from _sheet(part, half, axis)
        else:
            # A disc much larger than the rest goes on past the edge of the drawing.
            seen = min(half, edge)
            yield _shape("lens", [(part.z_mm, -seen), (part.z_mm, seen)])


def _housing(scene: Scene, axis: str) -> Iterator[Shape]:
    housing = scene.housing
    half = 0.5 * housing.opening_mm(0.0)[SIDES[axis]]
    yield _shape("wall", [(0.0, -half), (0.0, half)])
    walls = housing.wall_range_mm
    for start, end in itertools.pairwise([0.0, *(walls or ()), housing.depth_mm]):
        if end > start:
            ink = "wall" if (start, end) == walls else "open"
            low, high = (0.5 * housing.opening_mm(z)[SIDES[axis]] for z in (start, end))
            for sign in (-1.0, 1.0):
                yield _shape(ink, [(start, sign * low), (end, sign * high)])


def _sheet(part: Sheet, half: float, axis: str) -> Iterator[Shape]:
    """Yield a sheet: thin as a whole, covered parts thick; dashed if cut across the other axis."""
    yield _shape("gap", [(part.z_mm, -half), (part.z_mm, half)])
    strips = part.strips
    if strips is not None and strips.across != axis:
        yield _shape(f"{part.kind} dashed", [(part.z_mm, -half), (part.z_mm, half)])
        return
    covered = [(-half, half)] if strips is None else strips.intervals_mm(-half, half)
    for low, high in covered:
        yield _shape(part.kind, [(part.z_mm, low), (part.z_mm, high)])


def _section(part: RealLens, half: float) -> list[tuple[float, float]]:
    heights = [half * (2.0 * k / (FACE_POINTS - 1) - 1.0) for k in range(FACE_POINTS)]
    lamp, screen = part.profile_mm(heights)
    near = [(part.z_mm + sag, height) for sag, height in zip(lamp, heights, strict=True)]
    far = [(part.end_mm + sag, height) for sag, height in zip(screen, heights, strict=True)]
    return [*near, *reversed(far)]
