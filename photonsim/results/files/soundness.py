"""Whether what was read from a file can be a result: shapes, signs, and sums that must agree.

The digest tells a file that was changed; this tells one that was never right, so that nothing that
computes with a result has to ask.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import chain

import numpy as np

from photonsim.arrays import Counts
from photonsim.kernel.allotment import EXACT_HISTORIES, Guide
from photonsim.kernel.tallies import ARRIVAL, DIRECTION_SCALE, TALLIES, Tally
from photonsim.results.errors import ResultError
from photonsim.results.tallies import MAPS, Tallies
from photonsim.results.traced import Run, Traced
from photonsim.scene import Scene
from photonsim.scene.plain_text import CONTROL

GROUPS = ("stop", "guard", "escaped", "absorbed", "blocked")
LARGEST_SEED = 2**63 - 1
# Of so many histories one in 3,000 shares random numbers with another; see kernel.random.
MOST_PHOTONS = 10**14
MOST_EVENTS = 2**62
# Light polarised along the panel's axis counts twice where it is collected.
MOST_COUNTED = 2
# Batches are joined two by two when there are more.
MOST_BATCHES = 128
# Thirty thousand years, and a thousand light years in mm: beyond is no number of ours.
MOST_SECONDS = 1e12
FARTHEST = 1e19
# With a screen: terms of the two polynomials of the chief ray, and a spot's size for every cell.
LANDING = {"place": 4, "slope": 4, "half_mm": 81}


def refuse_unsound_head(
    scene: Scene, run: Run, fates: Sequence[tuple[str, str]], photons: int, batch_photons: int
) -> None:
    """Raise ResultError, naming the first thing, where what shapes follow from can't be right."""
    for problem in chain(_run(scene, run), _fates(fates), _batch_size(photons, batch_photons)):
        raise ResultError(problem)


def refuse_unsound_guide(guide: Guide) -> None:
    """Raise ResultError, naming the first thing, where a guide can't be right."""
    if not 1 <= guide.photons <= MOST_PHOTONS:
        raise ResultError(f"its guide has a pilot of {guide.photons} photons")
    counts, most = guide.collected, MOST_COUNTED * guide.photons
    if not 0 <= counts.min() <= counts.max() <= most or counts.sum() > most:
        raise ResultError("its guide has counts that its pilot can't have made")
    if CONTROL.search(guide.origin):
        raise ResultError("control characters in where its guide comes from")


def refuse_unsound(result: Traced) -> None:
    """Raise ResultError, naming the first thing, where a result contradicts itself."""
    for problem in _sums(result):
        raise ResultError(problem)


def _run(scene: Scene, run: Run) -> Iterator[str]:
    if run.status not in ("complete", "partial"):
        yield f"status {run.status!r}"
    if not 0 <= run.seed <= LARGEST_SEED:
        yield f"seed {run.seed}"
    if run.threads < 1 or any(not 0.0 <= time < MOST_SECONDS for time in run.seconds.values()):
        yield "threads or seconds that can't be"
    if not {"compile", "trace"} <= run.seconds.keys():
        yield "no seconds of compiling and tracing"
    if any(CONTROL.search(word) for word in (run.stopped_by, run.device, run.program_version)):
        yield "control characters in how it came about"
    expected = LANDING if scene.screen is not None else {}
    if {name: len(numbers) for name, numbers in run.landing.items()} != expected:
        yield "landing does not suit the scene's screen"
    if any(abs(number) > FARTHEST for numbers in run.landing.values() for number in numbers):
        yield "landing lies out of the world"
    if min(run.landing.get("half_mm", [1.0])) <= 0.0:
        yield "landing has spots without a size"


def _fates(fates: Sequence[tuple[str, str]]) -> Iterator[str]:
    groups = [group for _, group in fates]
    if not set(groups) <= set(GROUPS) or any(groups.count(one) != 1 for one in ("stop", "guard")):
        yield "kinds of fates"
    if len({name for name, _ in fates}) < len(fates):
        yield "two fates of one name"
    if any(not name or CONTROL.search(name) for name, _ in fates):
        yield "a fate without a name, or with control characters in it"


def _batch_size(photons: int, size: int) -> Iterator[str]:
    # Halves of a batch are batches too: sizes are powers of two.
    if size < 1 or size & (size - 1) or not 0 <= photons <= MOST_PHOTONS:
        yield f"{photons} photons in batches of {size}"
    elif photons > MOST_BATCHES * size:
        yield f"more than {MOST_BATCHES} batches of {size} for {photons} photons"


def _sums(result: Traced) -> Iterator[str]:
    tallies, batches = result.tallies, result.tallies.batches
    emitted = tallies.batch_sizes() * tallies.counts_per_photon
    if tallies.emitted > MOST_PHOTONS or (tallies.guide and tallies.photons % EXACT_HISTORIES):
        yield f"{tallies.photons} histories of a guide"
    arrays = batches | {name: getattr(tallies, name) for name in MAPS}
    heaviest = tallies.guide.heaviest if tallies.guide else 1
    twice = 1 if result.scene.panel.polariser_deg is None else MOST_COUNTED
    most_light = twice * tallies.emitted
    for tally in TALLIES:
        counts = counts_of(tally, arrays[tally.name])
        # What is more than there can be would wrap when summed; squares are held to weights below.
        most = MOST_EVENTS if tally.name in ("events", "squares") else most_light
        if counts.size and not 0 <= counts.min() <= counts.max() <= most:
            yield f"{tally.name} holds a negative count, or more than there were photons"
    if (batches["fates"].sum(axis=1) != emitted).any():
        yield "the ledger does not close"
    incident, collected = batches["incident"], batches["collected"]
    if (collected > twice * incident).any() or (incident > emitted).any():
        yield "more photons arrived than were sent"
    cells, squares = batches["cells"], batches["squares"]
    if (squares < cells).any() or (squares > twice * heaviest * cells).any():
        yield "batches/squares has weights that there are not"
    by_group = {
        group: batches["fates"][:, place] for place, (_, group) in enumerate(result.fate_names)
    }
    if (collected > twice * by_group["stop"]).any():
        yield "more photons were collected than went through the stop"
    lost = tallies.lost
    if len(lost) > by_group["guard"].sum() or len(set(lost)) < len(lost):
        yield "more histories listed as given up than were"
    if not all(0 <= number < tallies.photons for number in lost):
        yield "histories given up that were not traced"
    both = np.stack([incident, collected], axis=1)
    for tally in TALLIES:
        array = arrays[tally.name]
        if tally.sums_to == "lights" and tally.by == ARRIVAL:
            if (array.sum(axis=tuple(range(2, array.ndim))) != both).any():
                yield f"{tally.place} does not sum to what arrived"
        elif tally.sums_to not in batches or not array.size:
            continue
        elif array.sum() != batches[tally.sums_to].sum():
            yield f"{tally.place} does not sum to what arrived"
    yield from _screen_sums(tallies)
    if (tallies.panel[..., :2].sum(axis=(0, 1)) != both.sum(axis=0)).any():
        yield "the panel does not sum to what arrived"
    for direction_sums, counted in (
        (tallies.panel[..., 2:], tallies.panel[..., :1]),
        (batches["direction_sums"], incident[:, None]),
    ):
        # Not by the absolute value: the least number of 64 bits has none.
        longest = counted.astype(float) * DIRECTION_SCALE
        if ((direction_sums > longest) | (direction_sums < -longest)).any():
            yield "direction cosines larger than 1"


def counts_of(tally: Tally, array: Counts) -> Counts:
    """Return what of a tally counts photons; what it has of other sums may be negative."""
    for axis in tally.axes:
        if len(axis.counts) < len(axis.words):
            place = tally.axes.index(axis) - len(tally.axes)
            # Of an older version there may be fewer.
            kept = [count for count in axis.counts if count < array.shape[place]]
            array = array.take(kept, axis=place)
    return array


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
    rings = tallies.batches["rings"]
    if rings.shape[1] and (rings[:, :, [0, 4]].sum(axis=(1, 3, 4)) != landed).any():
        yield "batches/rings does not sum to what landed on the screen"
    if (tallies.stop_sums[..., 4:] > tallies.stop_sums[..., :1]).any():
        yield "more photons in odd blocks than in all"
