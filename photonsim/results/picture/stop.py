"""The stop as light fills it: how full it is, what a smaller one would leave of light and blur."""

from __future__ import annotations

from functools import cache, partial
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Flags, Reals
from photonsim.kernel.tallies import STOP_SUM
from photonsim.results.estimate import WITHHELD, Estimate
from photonsim.results.merit import COLLECTED, ratio
from photonsim.results.panel import weights
from photonsim.results.panel.field import CORNERS, EVERYWHERE, MIDDLE
from photonsim.results.picture import blur
from photonsim.results.result import Result
from photonsim.results.sums import Sums
from photonsim.results.tallies import DIRECTION_SCALE

STOP_RINGS = 8
# A bin is cut by the hole along this many lines.
FINE = 64
# With fewer effective photons of a cell, on average, too few are left beside the one that its mean
# takes.
FEWEST_OF_A_CELL = 3
# Of an even filling fewer pairs of effective photons would meet in a bin: it is known to 12 % or
# worse.
FEWEST_PAIRS = 300.0
ODD = STOP_SUM.words.index("odd")


class TradePoint(NamedTuple):
    """A smaller stop: its diameter in mm, the share of the light it leaves, RMS blur in pixels.

    `centre_px`, `whole_px` and `corner_px` are of the middle ninth, the whole picture, the corners.
    """

    diameter_mm: float
    light: Estimate
    centre_px: Estimate
    whole_px: Estimate
    corner_px: Estimate


def uncounted(result: Result) -> str:
    """Return why nothing is known of the stop's filling and of smaller ones; '' where it is."""
    if result.tallies.counts_version > 1 or not result.run.landing:
        return ""
    return f"not counted by photonsim {result.run.program_version}"


def trade_off(result: Result) -> list[TradePoint]:
    """Return what smaller stops would give, from this one run: least first.

    None where that was not counted.

    Light counts in rings of the stop as wide as the steps between the smaller ones, so that nothing
    is shared out; errors are the jackknife's. Blur is that of all light within the spots of the
    present stop; a smaller one has smaller spots, and would call more of it stray.
    """
    points = []
    for ring in range(2, STOP_RINGS + 1):
        if not _within(result.samples.total, ring)[:, 0].any():
            continue
        blurs = (_blur_px(result, ring, area) for area in (MIDDLE, EVERYWHERE, CORNERS))
        light = result.samples.estimate(partial(_light, ring=ring))
        points.append(TradePoint(result.scene.stop.diameter_mm * ring / STOP_RINGS, light, *blurs))
    return points


def _within(s: Sums, ring: int) -> Reals:
    """Return the sums [k, 5, 9, 9] of the light within a ring, itself included."""
    return s.rings[:, :ring].sum(axis=1)


def _light(s: Sums, ring: int) -> Reals:
    """Return [k] the share of all light, stray light too, that goes through within a ring."""
    inside, light = (_within(s, to)[:, [0, 4]].sum(axis=(1, 2, 3)) for to in (ring, STOP_RINGS))
    return ratio(inside, light)


def _blur_px(result: Result, ring: int, area: Flags) -> Estimate:
    """Return the RMS blur of some cells by the light within a ring, in pixels."""

    def blur_of(s: Sums) -> Reals:
        count, dx, dy, dd, _ = np.moveaxis(_within(s, ring), 1, 0)
        free = blur.freedom(s, count)
        squares = dd - ratio(dx * dx + dy * dy, count * DIRECTION_SCALE)
        return blur.mean_px(free, squares / (DIRECTION_SCALE * free), result.optics, area)

    total = result.samples.total
    effective = _within(total, ring)[0, 0] / weights.by_cell(total, COLLECTED)[0]
    if effective[area].mean() < FEWEST_OF_A_CELL:
        return WITHHELD
    return result.samples.estimate(blur_of, curved=True)


def stop_filled(stop_sums: NDArray[np.int64], mean_weights: Reals, evener: float = 1.0) -> Estimate:
    """Return the share of the stop's hole that light fills, from sums [m, bins, bins, 5] of cells.

    (sum of b)**2 / sum of b**2 for the light b at each place, over that of an even filling. Photons
    of odd blocks times those of even ones stand for b**2: the two are independent, so that neither
    few photons nor those of one block, which avoid each other, look like gaps or their absence. The
    error is that of Poisson counts, or of light b with the variance w b, w the mean weight of its
    cell [m]; triples of photons stand for b**3 (factorial moments). Of it,
    what comes from single photons is `evener` times that of chance, as in net_share. The value is
    held below 1, which half of all runs would pass if the stop were evenly full. Withheld where the
    light is so little that even in a full stop too few photons would share a bin; nan in results
    of 0.3.0, where odd blocks were not counted.
    """
    if stop_sums.shape[-1] <= ODD:
        return Estimate(float("nan"), float("nan"))
    odd = stop_sums[..., ODD].astype(float)
    even = stop_sums[..., 0] - odd
    both, of_cells = even + odd, (1, 2)
    pairs = 4.0 * (even * odd).sum(axis=of_cells)
    joined = pairs.sum()
    lights = both.sum(axis=of_cells)
    pairs_of_cells = 4.0 * even.sum(axis=of_cells) * odd.sum(axis=of_cells)
    whole = pairs_of_cells.sum()
    hole = _hole(stop_sums.shape[1])
    even_bins = hole.sum() ** 2 / (hole**2).sum()
    effective = (pairs_of_cells / mean_weights**2).sum()
    if joined <= 0.0 or effective / even_bins < FEWEST_PAIRS:
        return WITHHELD
    weights_of_bins = mean_weights[:, None, None]
    triples = 4.0 * (even * odd * (both - 2.0 * weights_of_bins) * weights_of_bins).sum()
    # Relative variance of joined / whole: by the slope on each count, and by the pairs' own chance.
    slopes = (
        triples / joined**2
        - 2.0 * (mean_weights * pairs * lights).sum() / (joined * whole)
        + (mean_weights * lights**3).sum() / whole**2
    )
    own = (mean_weights**2 * pairs).sum() / joined**2
    relative = 4.0 * evener * max(slopes, 0.0) + 4.0 * own
    # 1/x of a noisy x is too large by its relative variance.
    value = whole / joined / even_bins * (1.0 - relative)
    return Estimate(float(min(value, 1.0)), float(value * np.sqrt(relative)))


def net_share(result: Result, cells: Flags) -> float:
    """Return the share of the variance of independent photons that those of some cells have, to 1.

    Photons of a block are spread more evenly than by chance (DEVELOPERS.md, Chance). What is not
    counted by batch has an error for independent photons. How much smaller the true one is, the
    squared blur of the same cells tells, which has both: from batches, and from the scatter of its
    terms. Which light lies within an edge, that of a bin or of a radius, gains less: the root of
    it. Over 400 runs of each of three lamps the stated error is then 0.85 to 1.25 times the
    scatter; by the whole of it the filling of a sharp disc had 0.79, its radius 0.8.
    """
    found = result.samples.estimate(lambda s: blur.rms_px(s, result.optics, cells))
    independent = _independent_error_px(result, cells)
    if not (found.error > 0.0 and independent > 0.0):
        return 1.0
    return float(min(found.error / independent, 1.0))


def _independent_error_px(result: Result, cells: Flags) -> float:
    """Return the error of the RMS blur of some cells if their photons were independent, in px."""
    stop_sums = result.tallies.stop_sums[cells].astype(float)
    mean_weights = weights.by_cell(result.samples.total, COLLECTED)[0][cells]
    lights = np.maximum(stop_sums[..., 0].sum(axis=(1, 2)), 1.0)
    mean = stop_sums[..., 1:3].sum(axis=(1, 2)) / lights[:, None] / DIRECTION_SCALE
    about = _about(stop_sums, mean)
    total, squares = lights.sum(), about.sum(axis=(1, 2))
    squared = squares.sum()
    if squared <= 0.0:
        return 0.0
    middle = squared / total
    fourth = _fourth(stop_sums, about, mean, mean_weights).sum(axis=(1, 2))
    scatter = mean_weights @ (fourth - 2.0 * middle * squares + middle**2 * lights)
    return float(np.sqrt(max(scatter, 0.0) / (4.0 * total * squared)) / result.optics.pixel_mm)


def _about(stop_sums: Reals, mean: Reals) -> Reals:
    """Return sums [m, bins, bins] of squared distances from each cell's mean [m, 2], in mm**2."""
    offsets = stop_sums[..., 1:3] / DIRECTION_SCALE
    cross = (offsets * mean[:, None, None, :]).sum(axis=-1)
    far = stop_sums[..., 0] * (mean**2).sum(axis=-1)[:, None, None]
    return stop_sums[..., 3] / DIRECTION_SCALE - 2.0 * cross + far


def _fourth(stop_sums: Reals, about: Reals, mean: Reals, mean_weights: Reals) -> Reals:
    """Return sums [m, bins, bins] of the fourth powers of distances from each cell's mean place.

    n q**2 for the mean square q of a bin, and the scatter of the squares within it: v**2 + 2 v d**2
    of a round normal spot with variance v at a distance d, n - 1 times, as q scatters too; for
    light of a mean weight w, n - w times.
    """
    counts, one = stop_sums[..., 0], mean_weights[:, None, None]
    safe, others = np.maximum(counts, 1.0), np.maximum(counts - one, 0.0)
    places = stop_sums[..., 1:3] / DIRECTION_SCALE / safe[..., None]
    far = ((places - mean[:, None, None, :]) ** 2).sum(axis=-1)
    within = np.maximum(about / safe - far, 0.0) * safe / np.maximum(others, one)
    return about**2 / safe + others * within * (within + 2.0 * far)


def pupil(result: Result, i: int, j: int) -> tuple[Reals, Reals]:
    """Return (photons, share of the squared blur) [16, 16] by place in the stop, for a cell."""
    stop_sums = result.tallies.stop_sums[i, j].astype(float)
    photons = stop_sums[..., 0]
    mean = stop_sums[..., 1:3].sum(axis=(0, 1)) / DIRECTION_SCALE / max(photons.sum(), 1.0)
    squares = _about(stop_sums[None], mean[None])[0]
    whole = squares.sum()
    return photons, squares / whole if whole > 0.0 else np.zeros_like(squares)


@cache
def _hole(bins: int) -> Reals:
    """Return the share of each of [bins, bins] squares that lies within the circle in them."""
    edges = np.linspace(-1.0, 1.0, bins + 1)
    lines = (np.arange(bins * FINE) + 0.5) / (bins * FINE) * 2.0 - 1.0
    half = np.sqrt(1.0 - lines**2)[:, None]
    within = np.clip(np.minimum(edges[1:], half) - np.maximum(edges[:-1], -half), 0.0, None)
    return within.reshape(bins, FINE, bins).mean(axis=1) * bins / 2.0
