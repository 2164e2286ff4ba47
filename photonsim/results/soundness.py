"""Whether what was read from a file can be a result: shapes, signs, and sums that must agree.

The digest tells a file that was changed; this tells one that was never right, so that nothing that
computes with a result has to ask.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from photonsim.results.errors import ResultError
from photonsim.results.tallies import (
    BATCH_SHAPES,
    DIRECTION_BINS,
    DIRECTION_SCALE,
    PANEL_SUM_NAMES,
    PUPIL_BINS,
    SCREEN_SHAPES,
    Tallies,
)

if TYPE_CHECKING:
    from photonsim.results.result import Result

GROUPS = ("stop", "guard", "escaped", "absorbed", "blocked")
LARGEST_SEED = 2**63 - 1


def refuse_unsound(result: Result, where: str) -> None:
    """Raise ResultError, naming the first thing, where a result contradicts itself or its scene."""
    for problem in _contradictions(result):
        raise ResultError(f"{where}: is not a sound photonsim result ({problem})")


def _contradictions(result: Result) -> Iterator[str]:
    run, tallies = result.run, result.tallies
    if run.status not in ("complete", "partial"):
        yield f"status {run.status!r}"
    if not 0 <= run.seed <= LARGEST_SEED:
        yield f"seed {run.seed}"
    if any(group not in GROUPS for _, group in result.fate_names):
        yield "kinds of fates"
    if len({name for name, _ in result.fate_names}) < len(result.fate_names):
        yield "two fates of one name"
    yield from _batch_size(tallies)
    yield from _shapes(result)
    yield from _sums(tallies)
    if not all(0 <= number < tallies.photons for number in tallies.lost):
        yield "histories given up that were not traced"


def _batch_size(tallies: Tallies) -> Iterator[str]:
    size, batches = tallies.batch_photons, len(tallies.batches["incident"])
    # Halves of a batch are batches too: sizes are powers of two.
    if size < 1 or size & (size - 1) or tallies.photons < 0:
        yield f"{tallies.photons} photons in batches of {size}"
    elif batches != math.ceil(tallies.photons / size):
        yield f"{batches} batches of {size} for {tallies.photons} photons"


def _shapes(result: Result) -> Iterator[str]:
    tallies, panel = result.tallies, result.scene.panel
    expected = {
        "panel": (panel.rows, panel.columns, len(PANEL_SUM_NAMES)),
        "directions": (DIRECTION_BINS, DIRECTION_BINS),
        "pupil": (PUPIL_BINS, PUPIL_BINS),
    }
    for name, shape in SCREEN_SHAPES.items():
        expected[name] = shape if result.run.landing else (0, 0, *shape[2:])
    for name, shape in expected.items():
        if (found := getattr(tallies, name).shape) != shape:
            yield f"{name} has the shape {found} instead of {shape}"
    batches = len(tallies.batches["incident"])
    for name, shape in (BATCH_SHAPES | {"fates": (len(result.fate_names),)}).items():
        if (found := tallies.batches[name].shape) != (batches, *shape):
            yield f"batches/{name} has the shape {found} instead of {(batches, *shape)}"


def _sums(tallies: Tallies) -> Iterator[str]:
    batches = tallies.batches
    counts = {f"batches/{name}": array for name, array in batches.items()}
    del counts["batches/direction_sums"]
    # Of the screen's sums the first ones are counts, the rest are lengths with a sign.
    counts["batches/screen"] = batches["screen"][:, :2]
    counts["batches/colours"] = batches["colours"][:, :, 0]
    counts["batches/rings"] = batches["rings"][:, :, [0, 4]]
    counts |= {"spots": tallies.spots, "stop_sums": tallies.stop_sums[..., [0, 4]]}
    counts |= {"panel": tallies.panel[..., :2], "directions": tallies.directions}
    for name, array in (counts | {"pupil": tallies.pupil}).items():
        if array.size and array.min() < 0:
            yield f"{name} holds a negative count"
    if (batches["fates"].sum(axis=1) != tallies.batch_sizes()).any():
        yield "the ledger does not close"
    incident, collected = batches["incident"], batches["collected"]
    if (collected > incident).any() or (incident > tallies.batch_sizes()).any():
        yield "more photons arrived than were sent"
    both = np.stack([incident, collected], axis=1)
    for name in ("cells", "profile_x", "profile_y", "polar"):
        if (batches[name].reshape(len(both), 2, -1).sum(axis=2) != both).any():
            yield f"batches/{name} does not sum to what arrived"
    if tallies.directions.sum() != incident.sum() or tallies.pupil.sum() != collected.sum():
        yield "angles or pupil do not sum to what arrived"
    yield from _screen_sums(tallies)
    if (tallies.panel[..., :2].sum(axis=(0, 1)) != both.sum(axis=0)).any():
        yield "the panel does not sum to what arrived"
    if (np.abs(tallies.panel[..., 2:]) > tallies.panel[..., :1] * DIRECTION_SCALE).any():
        yield "direction cosines larger than 1"
    if (np.abs(batches["direction_sums"]) > incident[:, None] * DIRECTION_SCALE).any():
        yield "direction cosines larger than 1"


def _screen_sums(tallies: Tallies) -> Iterator[str]:
    if not tallies.spots.size:
        return
    # The first two of the screen's sums are photons near their place and stray ones.
    landed = tallies.batches["screen"][:, :2].sum(axis=(2, 3))
    if (landed.sum(axis=1) != tallies.batches["collected"]).any():
        yield "the screen does not sum to what was collected"
    near = landed[:, 0].sum()
    if near != tallies.spots.sum() or near != tallies.stop_sums[..., 0].sum():
        yield "spots do not sum to what landed on the screen"
    if (tallies.batches["rings"][:, :, [0, 4]].sum(axis=(1, 3, 4)) != landed).any():
        yield "batches/rings does not sum to what landed on the screen"
    if (tallies.stop_sums[..., 4] > tallies.stop_sums[..., 0]).any():
        yield "more photons in odd blocks than in all"
