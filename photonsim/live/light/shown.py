"""What the page shows of a result: the words, colours and numbers of terminal and figures."""

from __future__ import annotations

import base64
import math
from typing import Any

import numpy as np
from PIL import ImageColor

from photonsim.figures import style
from photonsim.figures.panel.maps import KINDS, block_note, map_blocks, smooth_map
from photonsim.figures.panel.profile import profile_of
from photonsim.results import FIGURES, Result, Shown, shown_in
from photonsim.results.remarks.caveats import caveats
from photonsim.studies import Comparison, Design, compare
from photonsim.studies.comparing.answer import change_words
from photonsim.studies.comparing.compare import RANKED_BY
from photonsim.studies.comparing.paired import difference

# Maps stand on this scale of light over the mean of each, whatever the lamp: two maps a minute
# apart can be compared. Brighter places look like the brightest.
MAP_TOP = 2.0
LARGEST_LOSSES = 6
POINTS_PER_WINDOW = 3
PLACES = 4


def scale_of_maps() -> dict[str, Any]:
    """Return the colours of maps, dark to bright, as RGBA, and what the brightest stands for."""
    colours = [(*ImageColor.getrgb(colour), 255) for colour in style.colour_table()]
    return {"map_colours": colours, "map_top": MAP_TOP}


def answer_of(result: Result, pinned: Result | None) -> dict[str, Any]:
    """Return what a result comes to, beside the pinned design's if there is one of its own."""
    mine = Design("this one", result)
    two = None if pinned is None else compare([Design("pinned", pinned), mine])
    names, pitches = shown_in(Shown.TRACE), result.optics.pitches
    axes = pitches if len(pitches) == 1 else ("y", "x")
    return {
        "photons": result.photons,
        "seed": result.seed,
        "figures": [_figure(name, result, two, len(names)) for name in names],
        "lead": _lead(mine, two),
        "maps": [_map(result, kind, title) for kind, title in KINDS.items()],
        "profiles": [_profile(result, pinned, axis) for axis in axes],
        "ledger": _ledger(result),
        "caveats": list(caveats(result)),
    }


def _figure(name: str, result: Result, two: Comparison | None, looked_at: int) -> dict[str, str]:
    """Return a figure with its error, and what changed against the pinned design.

    A change is called real as in a table of comparisons, with the odds of luck shared among all
    the figures that are looked at.
    """
    figure, mine = FIGURES[name], result.estimate(name)
    text = mine.text(figure.scale, figure.unit)
    row = {"name": name, "words": figure.words, "meaning": figure.meaning, "text": text}
    row |= {"pinned": "", "change": "", "worth": ""}
    if two is None:
        return row
    pinned = two.reference.result
    change = difference(result, pinned, name)
    row["pinned"] = pinned.estimate(name).text(figure.scale, figure.unit)
    if not math.isnan(change.value):
        text = change.text(figure.scale, figure.unit)
        row["change"] = text if text.startswith("-") else f"+{text}"
        way = figure.better * change.value
        worth = "real, better" if way > 0.0 else "real, worse" if way < 0.0 else "real"
        row["worth"] = worth if two.is_real(change, looked_at) else "not shown"
    return row


def _lead(mine: Design, two: Comparison | None) -> dict[str, str]:
    """Return the line above all else: the collected light, and the change as tables have it."""
    figure = FIGURES[RANKED_BY]
    text, change = mine.result.estimate(RANKED_BY).text(1.0, figure.unit), ""
    if two is not None:
        moved = difference(mine.result, two.reference.result, RANKED_BY)
        change = change_words(two, mine, moved)
    return {"words": figure.words, "text": text, "change": change}


def _map(result: Result, kind: str, title: str) -> dict[str, Any]:
    """Return a map of the panel in 255 steps of its scale, the uppermost row first.

    Of points that lie much closer than the window is wide, only some are told.
    """
    columns, values = map_blocks(result, kind), smooth_map(result, kind)
    stride = max(1, values.shape[1] // (POINTS_PER_WINDOW * columns))
    steps = np.clip(values[::stride, ::stride][::-1] * 255.0 / MAP_TOP, 0, 255).round()
    return {
        "kind": kind,
        "title": title,
        "rows": steps.shape[0],
        "columns": steps.shape[1],
        "width_mm": result.optics.width_mm,
        "height_mm": result.optics.height_mm,
        "steps": base64.b64encode(steps.astype(np.uint8).tobytes()).decode(),
        "note": block_note(result, kind, columns),
    }


def _profile(result: Result, pinned: Result | None, axis: str) -> dict[str, Any]:
    """Return the light along an axis over its mean, with its errors, and the pinned design's."""
    extent = result.optics.width_mm if axis == "x" else result.optics.height_mm
    # Black on white paper: whatever words are written in, on a dark page.
    curves = {"arriving": (result, 0, "currentColor"), "collected": (result, 1, style.COLLECTED)}
    if pinned is not None:
        curves["pinned"] = (pinned, 1, style.GREY)
    told = []
    for name, (found, light, colour) in curves.items():
        values, errors = (one.round(PLACES) for one in profile_of(found, axis, light))
        numbers = {"values": values.tolist(), "errors": errors.tolist()}
        told.append({"name": name, "colour": colour} | numbers)
    return {"axis": axis, "extent_mm": extent, "curves": told}


def _ledger(result: Result) -> dict[str, Any]:
    """Return the share of the light by group of fates, and the largest losses by name."""
    met = [fate for fate in result.fates if fate.photons]
    shares = {
        group: result.share_of([fate for fate in result.fates if fate.group == group])
        for group in dict.fromkeys(fate.group for fate in met)
    }
    lost = sorted((fate for fate in met if fate.group != "stop"), key=lambda fate: -fate.photons)
    largest = [(one.name, result.share_of([one])) for one in lost[:LARGEST_LOSSES]]
    losses = ", ".join(f"{name} {share.text(100.0, '%')}" for name, share in largest)
    return {
        "groups": [
            {
                "words": style.group_style(group).words,
                "colour": style.group_style(group).colour,
                "share": share.value,
                "text": share.text(100.0, "%"),
            }
            for group, share in shares.items()
        ],
        "losses": f"Most by: {losses}" if losses else "",
    }
