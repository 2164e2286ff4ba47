"""The side view as shapes to scale in mm, for the page's own script to draw."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from typing import Any

from photonsim.figures import style
from photonsim.figures.lamp.side_view_parts import MOST_EMITTERS, SIDES, half_extent_mm
from photonsim.results import LightPath
from photonsim.scene import Housing, LightPlate, Panel, RealLens, Scene, TrainPart
from photonsim.scene.stands import stands_of

PLACES = 2
FACE_POINTS = 9
# Enough to show where light goes, few enough to see each.
PATHS_OF_GROUP = 10

# What is not named here has the colour that words are written in.
COLOURS = {
    "emitter": style.EMITTERS,
    "panel": style.PANEL,
    "glass": style.GLASS,
    **style.SHEETS,
}

Shape = dict[str, Any]
Point = tuple[float, float]


def side_of(scene: Scene) -> dict[str, Any]:
    """Return the lamp seen from the side and from above: extent in mm, shapes and labels."""
    end = max(scene.housing.depth_mm, *(part.end_mm for part in scene.train.values()))
    stands = stands_of(scene)
    places = sorted((one.z_mm, name) for name, one in (stands | scene.train).items())
    halves = {axis: half_extent_mm(scene, axis) for axis in ("y", "x")}
    return {
        "low": round(-0.04 * end, PLACES),
        "high": round(1.02 * end, PLACES),
        "labels": [{"z": z, "words": f"{name}, {z:g} mm"} for z, name in places],
        "planes": [
            {"axis": axis, "half": half, "shapes": list(_shapes(scene, SIDES[axis], half))}
            for axis, half in halves.items()
        ],
    }


def paths_of(paths: Sequence[LightPath]) -> dict[str, Any]:
    """Return a few paths of each group of fates, as (z, y) and (z, x) in mm, and their counts."""
    groups: dict[str, list[LightPath]] = {}
    for path in sorted(paths, key=lambda path: (path.group == "stop", path.group)):
        groups.setdefault(path.group, []).append(path)
    return {
        "of": len(paths),
        "groups": [
            {
                "group": group,
                "words": style.group_style(group).words,
                "colour": style.group_style(group).colour,
                "count": len(members),
            }
            | {axis: _polylines(members[:PATHS_OF_GROUP], side) for axis, side in SIDES.items()}
            for group, members in groups.items()
        ],
    }


def _polylines(paths: Sequence[LightPath], side: int) -> list[Any]:
    return [path.points[:, (2, side)].round(PLACES).tolist() for path in paths]


def _shape(ink: str, points: Sequence[Point], is_area: bool = False) -> Shape:
    rounded = [[round(z, PLACES), round(across, PLACES)] for z, across in points]
    colour = COLOURS.get(ink.partition(" ")[0], "currentColor")
    return {"ink": ink, "colour": colour, "points": rounded, "area": is_area}


def _lines(ink: str, z_mm: float, spans: Sequence[Point]) -> Iterator[Shape]:
    """Yield a line across the axis for each span; one over all where they are too many to tell."""
    few = spans if len(spans) <= MOST_EMITTERS else [(spans[0][0], spans[-1][1])]
    for low, high in few:
        yield _shape(ink, [(z_mm, low), (z_mm, high)])


def _shapes(scene: Scene, side: int, edge: float) -> Iterator[Shape]:
    """Yield areas and lines, what lies behind first. `ink` names what a shape is."""
    yield from _housing(scene.housing, side)
    for stand in stands_of(scene).values():
        half, centres = 0.5 * stand.size_mm[side], (stand.columns_mm, stand.rows_mm)[side]
        if half:
            spans = [(mid - half, mid + half) for mid in centres]
            yield from _lines("emitter", stand.z_mm, spans)
        else:
            deep = 0.5 * stand.size_mm[2]
            ends = (stand.z_mm - deep, stand.z_mm + deep)
            yield from (_shape("emitter", [(z, mid) for z in ends]) for mid in centres)
    for name, part in scene.train.items():
        half = 0.5 * scene.part_size_mm(name)[side]
        if isinstance(part, RealLens):
            yield _shape("glass", _section(part, half), is_area=True)
        elif isinstance(part, LightPlate):
            faces = ((part.z_mm, (-half, half)), (part.end_mm, (half, -half)))
            yield _shape("glass", [(z, y) for z, ends in faces for y in ends], is_area=True)
        elif isinstance(part, Panel):
            active = 0.5 * (part.active_width_mm, part.active_height_mm)[side]
            yield from _lines("panel", part.z_mm, [(-active, active)])
            yield from _lines("frame", part.z_mm, [(-half, -active), (active, half)])
        elif part.kind == "aperture_stop":
            yield from _lines("frame", part.z_mm, [(-edge, -half), (half, edge)])
        elif part.kind in ("ideal_lens", "fresnel_lens"):
            # A disc much larger than the rest goes on past the edge of the drawing.
            yield from _lines("lens", part.z_mm, [(-min(half, edge), min(half, edge))])
        else:
            yield from _sheet(part, half, side)


def _housing(housing: Housing, side: int) -> Iterator[Shape]:
    half = 0.5 * housing.opening_mm(0.0)[side]
    yield from _lines("wall", 0.0, [(-half, half)])
    walls = housing.wall_range_mm
    for start, end in itertools.pairwise([0.0, *(walls or ()), housing.depth_mm]):
        ink = "wall" if (start, end) == walls else "open"
        low, high = (0.5 * housing.opening_mm(z)[side] for z in (start, end))
        for sign in (-1.0, 1.0) if end > start else ():
            yield _shape(ink, [(start, sign * low), (end, sign * high)])


def _sheet(part: TrainPart, half: float, side: int) -> Iterator[Shape]:
    """Yield a sheet: thin as a whole, covered parts thick; dashed if cut across the other axis."""
    whole, strips = [(-half, half)], getattr(part, "strips", None)
    yield from _lines("gap", part.z_mm, whole)
    if strips is None:
        yield from _lines(part.kind, part.z_mm, whole)
    elif SIDES[strips.across] == side:
        yield from _lines(part.kind, part.z_mm, strips.intervals_mm(-half, half))
    else:
        yield from _lines(f"{part.kind} dashed", part.z_mm, whole)


def _section(part: RealLens, half: float) -> list[Point]:
    heights = [half * (2.0 * k / (FACE_POINTS - 1) - 1.0) for k in range(FACE_POINTS)]
    lamp, screen = part.profile_mm(heights)
    near = [(part.z_mm + sag, height) for sag, height in zip(lamp, heights, strict=True)]
    far = [(part.end_mm + sag, height) for sag, height in zip(screen, heights, strict=True)]
    return [*near, *reversed(far)]
