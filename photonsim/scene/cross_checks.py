"""What must hold between the tables of a scene, checked on whatever tables could be built."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator, Mapping, Sized
from dataclasses import dataclass

from photonsim.scene.aperture_stop import ApertureStop
from photonsim.scene.array_checks import MOST_GROUPS, SLACK_MM, array_mistakes
from photonsim.scene.edge_checks import edge_mistakes
from photonsim.scene.emitters import Emitter
from photonsim.scene.housing import Housing
from photonsim.scene.light_plate import LightPlate
from photonsim.scene.mistakes import Mistake, join_path
from photonsim.scene.sheet import Sheet
from photonsim.scene.strips import MOST_STRIPS
from photonsim.scene.train import PART_CLASSES, TrainPart

MOST_PARTS = 200
LONGEST_NAME = 40
KEPT_NAMES = frozenset({"base", "walls"})  # they name the housing's own surfaces in the ledger
PART_NAME = re.compile(r"[a-z][a-z0-9_]*")


@dataclass(frozen=True)
class Draft:
    """A scene as far as it could be built.

    `emitters` and `train` hold the tables without mistakes of their own. `emitter_names` and
    `kinds` (name to kind as written, None if that is no text) tell of every table, sound or not;
    they are None where the section itself is missing or no section.
    """

    housing: Housing | None
    emitters: Mapping[str, Emitter]
    train: Mapping[str, TrainPart]
    emitter_names: tuple[str, ...] | None
    kinds: Mapping[str, str | None] | None


def cross_check(draft: Draft) -> list[Mistake]:
    """Every mistake between the tables of a draft."""
    return [
        *_names(draft),
        *_counts(draft),
        *_panel_and_stop(draft),
        *_order_along_axis(draft),
        *_sizes(draft),
        *_thick(draft),
        *_strips(draft),
        *array_mistakes(draft.emitters, draft.housing, draft.train),
        *edge_mistakes(draft.emitters, draft.housing, draft.train, draft.kinds or {}),
    ]


def _names(draft: Draft) -> Iterator[Mistake]:
    groups, parts = draft.emitter_names or (), tuple(draft.kinds or ())
    for section, names in (("emitters", groups), ("train", parts)):
        for name in names:
            path = join_path(section, name)
            if not PART_NAME.fullmatch(name):
                yield Mistake(
                    path, "a name begins with a small letter and goes on with a-z, 0-9 and _"
                )
            elif len(name) > LONGEST_NAME:
                yield Mistake(path, f"a name has {LONGEST_NAME} characters at most")
            elif name in KEPT_NAMES:
                yield Mistake(path, "this name is kept for the housing", advice="choose another")
            elif section == "train" and name in groups:
                yield Mistake(
                    path, "a group of emitters has the same name", advice="choose another"
                )


def _counts(draft: Draft) -> Iterator[Mistake]:
    if draft.emitter_names is not None and not draft.emitter_names:
        yield Mistake("emitters", "no emitter stands here", advice="add a group: [emitters.bars]")
    yield from crowded(draft.emitter_names or (), draft.kinds or ())


def crowded(groups: Sized, parts: Sized) -> Iterator[Mistake]:
    """Mistakes of a scene with more groups of emitters or parts than it may have."""
    if len(groups) > MOST_GROUPS:
        yield Mistake("emitters", f"more than {MOST_GROUPS} groups")
    if len(parts) > MOST_PARTS:
        yield Mistake("train", f"more than {MOST_PARTS} parts")


def _panel_and_stop(draft: Draft) -> Iterator[Mistake]:
    if draft.kinds is None:
        return
    places: dict[str, list[int]] = {"panel": [], "aperture_stop": []}
    names = list(draft.kinds)
    for place, kind in enumerate(draft.kinds.values()):
        if kind is not None and kind in places:
            places[kind].append(place)
    misspelt = any(kind not in PART_CLASSES for kind in draft.kinds.values())
    for kind, found in places.items():
        words = kind.replace("_", " ")
        if not found and not misspelt:
            yield Mistake("train", f"no {words}", advice=f'add one part with kind = "{kind}"')
        for place in found[1:]:
            yield Mistake(
                join_path("train", names[place]),
                f"a second {words}, after {names[found[0]]}",
                advice="keep one",
            )
    if not places["aperture_stop"]:
        return
    stop = places["aperture_stop"][0]
    if places["panel"] and stop < places["panel"][0]:
        yield Mistake(
            join_path("train", names[stop]),
            "the aperture stop stands before the panel",
            advice="it belongs behind the panel",
        )


def _order_along_axis(draft: Draft) -> Iterator[Mistake]:
    for (before, first), (after, second) in itertools.pairwise(draft.train.items()):
        path = join_path("train", after, "z_mm")
        if second.z_mm <= first.z_mm:
            yield Mistake(
                path,
                f"must be greater than {first.z_mm:g}, the height of {before} before it",
                second.z_mm,
                "list the parts in their order along z",
            )
        elif second.z_mm < first.end_mm - SLACK_MM:
            yield Mistake(
                path,
                f"overlaps {before}, which is {first.thickness_mm:g} mm thick and ends at "
                f"{first.end_mm:g} mm",
                second.z_mm,
            )


def _thick(draft: Draft) -> Iterator[Mistake]:
    panel = next((part for part in draft.train.values() if part.kind == "panel"), None)
    behind = {n: part for n, part in draft.train.items() if panel and part.z_mm > panel.z_mm}
    for name, part in behind.items():
        path = join_path("train", name)
        if isinstance(part, LightPlate):
            advice = "it belongs between base and panel"
            yield Mistake(path, "the light plate stands behind the panel", advice=advice)
        if isinstance(part, Sheet) and part.thick:
            advice = "a flat plate in the picture's light is a real_lens without radii"
            yield Mistake(f"{path}.thick", "is for sheets before the panel", True, advice)


def _sizes(draft: Draft) -> Iterator[Mistake]:
    """A part inside the housing must fit in; one at the rim or beyond needs a size of its own."""
    if draft.housing is None:
        return
    for name, part in draft.train.items():
        keys = dict.fromkeys(part.outline_keys)  # a round part has one key for both sides
        if part.z_mm > draft.housing.depth_mm:
            for key in keys:
                if getattr(part, key) is None:
                    yield Mistake(
                        join_path("train", name, key),
                        "missing",
                        advice=f"beyond the housing, which ends at {draft.housing.depth_mm:g} mm, "
                        "a sheet needs a size of its own",
                    )
        elif part.z_mm < draft.housing.depth_mm and not isinstance(part, ApertureStop):
            opening = draft.housing.opening_mm(part.z_mm)
            if len(keys) == 1:
                opening = (min(opening), min(opening))
            for key, room in zip(keys, opening, strict=False):
                size = getattr(part, key)
                if size is not None and size > room + SLACK_MM:
                    yield Mistake(
                        join_path("train", name, key),
                        f"does not fit: the housing is open {room:.6g} mm at z_mm = {part.z_mm:g}",
                        size,
                    )


def _strips(draft: Draft) -> Iterator[Mistake]:
    for name, part in draft.train.items():
        if not isinstance(part, Sheet) or part.strips is None:
            continue
        strips = part.strips
        size = part.width_mm if strips.across == "x" else part.height_mm
        if size is None:
            if draft.housing is None or part.z_mm > draft.housing.depth_mm:
                continue
            size = draft.housing.opening_mm(part.z_mm)[0 if strips.across == "x" else 1]
        low, high = -0.5 * size, 0.5 * size
        outside = f"lies outside the sheet, which spans {low:.6g} to {high:.6g} mm"
        if strips.covered_mm is not None:
            for place, span in enumerate(strips.covered_mm):
                if span[0] >= high or span[1] <= low:
                    path = join_path("train", name, "strips", "covered_mm", place)
                    yield Mistake(path, outside, span)
        elif strips.pitch_mm is not None and size / strips.pitch_mm > MOST_STRIPS:
            path = join_path("train", name, "strips", "pitch_mm")
            yield Mistake(
                path, f"makes more than {MOST_STRIPS:,} strips on {size:g} mm", strips.pitch_mm
            )
        elif not strips.intervals_mm(low, high):
            path = join_path("train", name, "strips", "offset_mm")
            yield Mistake(path, f"every strip {outside}", strips.offset_mm)
