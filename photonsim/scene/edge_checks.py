"""Whether emitters on the edges of a light plate fit it, and it the train."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping

from photonsim.scene.array_checks import MOST_GROUPS, SLACK_MM
from photonsim.scene.emitters import Emitter
from photonsim.scene.housing import Housing
from photonsim.scene.light_plate import LightPlate, plates_of
from photonsim.scene.mistakes import Mistake, join_path
from photonsim.scene.part import Part


def edge_mistakes(
    groups: Mapping[str, Emitter],
    housing: Housing | None,
    train: Mapping[str, Part],
    kinds: Mapping[str, str | None],
) -> Iterator[Mistake]:
    """Every mistake in the place of emitters on the edges of a light plate.

    `kinds` are those of all parts, sound or not.
    """
    plates = plates_of(train)
    on_edge = {name: group for name, group in groups.items() if group.edge is not None}
    if not on_edge or len(on_edge) > MOST_GROUPS:
        return
    count = list(kinds.values()).count("light_plate")
    if count != 1:
        yield Mistake(
            join_path("emitters", next(iter(on_edge)), "edge"),
            "no light plate stands in the train" if count == 0 else f"of which of {count} plates?",
            next(iter(on_edge.values())).edge,
            'add one part with kind = "light_plate"' if count == 0 else "keep one light plate",
        )
    elif plates:
        yield from _on(*next(iter(plates.items())), on_edge, housing)


def _on(
    plate_name: str, plate: LightPlate, groups: Mapping[str, Emitter], housing: Housing | None
) -> Iterator[Mistake]:
    outline = plate.outline_mm
    for name, group in groups.items():
        assert group.edge is not None
        height = group.size_mm[1]
        if height > plate.thickness_mm + SLACK_MM:
            yield Mistake(
                join_path("emitters", name, "height_mm"),
                f"more than the thickness of {plate_name}, {plate.thickness_mm:g} mm",
                height,
                "light that passes above or below the edge is lost: take lower emitters, or give "
                "the part of their light that falls on it",
            )
        side = 1 if group.edge[1] == "x" else 0
        length = outline[side]
        if length is None and housing is not None and plate.z_mm <= housing.depth_mm:
            length = housing.opening_mm(plate.z_mm)[side]
        low, high = _reach_mm(group)
        if length is not None and max(-low, high) > 0.5 * length + SLACK_MM:
            yield Mistake(
                join_path("emitters", name, "along_mm"),
                f"the emitters reach from {low:.6g} to {high:.6g} mm along the edge, but "
                f"{plate_name} only from {-0.5 * length:.6g} to {0.5 * length:.6g} mm",
                group.along_mm,
            )
    for (before, one), (after, other) in itertools.combinations(groups.items(), 2):
        if one.edge != other.edge:
            continue
        if one.coupling != other.coupling:
            problem = f'{before} on the same edge has coupling = "{one.coupling}"'
            yield Mistake(join_path("emitters", after, "coupling"), problem, other.coupling)
        if _reach_mm(one)[0] < _reach_mm(other)[1] and _reach_mm(other)[0] < _reach_mm(one)[1]:
            yield Mistake(
                join_path("emitters", after, "along_mm"),
                f"its row runs into that of {before} on the same edge",
                other.along_mm,
                "move one of the rows, or join them to one",
            )


def _reach_mm(group: Emitter) -> tuple[float, float]:
    places, half = group.columns_mm(), 0.5 * group.size_mm[0]
    return places[0] - half, places[-1] + half
