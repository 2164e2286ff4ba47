"""What a run says about the screen, by cell of the field: blur, drift, spots, focus, stop."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.results import blur, sums
from photonsim.results.errors import ResultError
from photonsim.results.estimate import Estimate
from photonsim.results.field import CELLS, CORNERS, EVERYWHERE, MIDDLE, Cells
from photonsim.results.result import Result
from photonsim.results.tallies import DIRECTION_SCALE
from photonsim.scene import Projection, projection_of

Reals = NDArray[np.float64]
STOP_RINGS = 8
# Of fewer photons nobody knows what holds 80 %.
FEWEST_OF_A_SPOT = 10
# Fewer give a blur to no better than a tenth.
FEWEST_OF_A_RING = 100.0


class TradePoint(NamedTuple):
    """A smaller stop: its diameter in mm, the share of the light it leaves, RMS blur in pixels.

    `centre_px`, `whole_px` and `corner_px` are of the middle ninth, the whole picture, the corners.
    """

    diameter_mm: float
    light: Estimate
    centre_px: float
    whole_px: float
    corner_px: float


@dataclass(frozen=True)
class ScreenView:
    """The screen of a result. Maps are [9, 9] by cell of the panel, row 0 lowest."""

    result: Result
    projection: Projection

    @property
    def pixel_mm(self) -> float:
        """The width of a panel pixel in mm."""
        return self.result.optics.pixel_mm

    @property
    def size_mm(self) -> tuple[float, float]:
        """The picture's width and height in mm, distortion left out."""
        times, optics = abs(self.projection.magnification), self.result.optics
        return times * optics.width_mm, times * optics.height_mm

    @property
    def mean_lux(self) -> Estimate:
        """The mean illuminance of a white picture in lux."""
        lumens = self.result.estimate("collected_lm")
        area = self.size_mm[0] * self.size_mm[1] * 1.0e-6
        return Estimate(lumens.value / area, lumens.error / area, lumens.degrees)

    @property
    def growth(self) -> float:
        """The share by which the picture grows as the screen moves by its own distance."""
        return self.projection.slope * self.projection.throw_mm / self.projection.magnification

    @property
    def photons(self) -> Reals:
        """Photons by cell that landed near their place."""
        return sums.total(self.result.tallies).screen[0, 0]

    def blur_px(self) -> tuple[Reals, Reals]:
        """Return (RMS blur, its standard error) by cell, in pixels."""
        return sums.estimates(
            self.result.tallies, lambda s: np.sqrt(blur.variance(s.screen)) / self.pixel_mm
        )

    def drift_px(self) -> tuple[Reals, Reals]:
        """Return (x, y) of the mean offset from the chief ray by cell, in pixels."""
        m = blur.moments(sums.total(self.result.tallies).screen)
        return m["dx"][0] / self.pixel_mm, m["dy"][0] / self.pixel_mm

    def colour_px(self) -> tuple[Reals, Reals]:
        """Return (how far red lands outside blue, its standard error) by cell, in pixels."""
        optics = self.result.optics

        def by_cell(s: sums.Sums) -> Reals:
            found = [
                blur.colour_px(s.colours, optics, one_cell(i, j))
                for i, j in np.ndindex(CELLS, CELLS)
            ]
            return np.stack(found, axis=-1).reshape(-1, CELLS, CELLS)

        return sums.estimates(self.result.tallies, by_cell)

    def relative_light(self) -> tuple[Reals, Reals]:
        """Return (illuminance of the screen over its mean, standard error) by cell."""
        return sums.estimates(self.result.tallies, self.light_of)

    def light_of(self, s: sums.Sums) -> Reals:
        """Return the illuminance of the screen over its mean by cell, [k, 9, 9].

        Where chief rays land farther out than they should, the same light covers more of the
        screen.
        """
        counts = s.cells[:, 1]
        radii = [[self.radius_mm(i, j) for j in range(CELLS)] for i in range(CELLS)]
        area = self.growth_of_area(np.square(radii))
        mean = counts.sum(axis=(1, 2), keepdims=True) / area.sum()
        with np.errstate(divide="ignore", invalid="ignore"):
            return np.asarray(counts / area / mean)

    def growth_of_area(self, squared: Reals) -> Reals:
        """Return the area of the picture over that without distortion, for squared panel radii.

        A place r goes to r s(r**2): the area grows by s (s + 2 r**2 s'). Radii in mm.
        """
        terms = np.polynomial.Polynomial(self.result.run.landing["place"])
        stretch = terms(squared)
        return np.asarray(stretch * (stretch + 2.0 * squared * terms.deriv()(squared)))

    def radius_mm(self, i: int, j: int) -> float:
        """Return the distance of a cell's middle from the axis, in mm."""
        optics = self.result.optics
        x, y = ((k + 0.5) / CELLS - 0.5 for k in (j, i))
        return float(np.hypot(x * optics.width_mm, y * optics.height_mm))

    def radius_80_px(self, cells: Cells = EVERYWHERE) -> Estimate:
        """Return the radius that holds 80 % of the light of some cells, in pixels.

        About the mean place of each cell's light, from the spots: as fine as their bins, 1/16 of
        `half_mm`. The error is that of a quantile, sqrt(p (1 - p) / n) over the density there
        (A. Stuart, J. K. Ord, Kendall's Advanced Theory of Statistics, vol. 1; from memory).
        """
        parts = [self._radii(i, j) for i, j in np.argwhere(cells)]
        radii, light = (np.concatenate(values) for values in zip(*parts, strict=True))
        total = light.sum()
        if total < FEWEST_OF_A_SPOT:
            return Estimate(float("nan"), float("nan"))
        order = np.argsort(radii, kind="stable")
        inside = np.cumsum(light[order]) / total
        low, found, high = np.interp([0.75, 0.8, 0.85], inside, radii[order]) / self.pixel_mm
        error = np.sqrt(0.8 * 0.2 / total) * (high - low) / 0.1
        return Estimate(float(found), float(error))

    def _radii(self, i: int, j: int) -> tuple[Reals, Reals]:
        """Return (distance from the mean place in mm, photons) of a cell's spot, flat."""
        x, y, light = self.spot(i, j)
        total = max(light.sum(), 1.0)
        away = np.hypot(x - (light * x).sum() / total, y - (light * y).sum() / total)
        return away.ravel(), light.ravel()

    def half_mm(self, i: int, j: int) -> float:
        """Return half the side of a cell's spot, on the panel's scale in mm."""
        return self.result.run.landing["half_mm"][9 * i + j]

    def spot(self, i: int, j: int) -> tuple[Reals, Reals, Reals]:
        """Return (x, y, photons) [32, 32] of the light around a cell's chief ray, in mm."""
        light = self.result.tallies.spots[i, j].astype(float)
        bins = len(light)
        centres = (np.arange(bins) + 0.5 - 0.5 * bins) * 2.0 * self.half_mm(i, j) / bins
        x, y = np.meshgrid(centres, centres)
        return x, y, light

    def line_contrast(self, cells: Cells, pitches_px: Reals, across: str) -> tuple[Reals, Reals]:
        """Return (contrast of lines, standard error) [n], 0 to 1, for pitches [n] in panel pixels.

        `across` is the axis along which they repeat: 'x' for upright lines. The modulus M of the
        spot's Fourier transform at 1/pitch (Hecht, Optics, section 11.3), pixels taken as points;
        of n photons its square comes out too large by (1 - M**2) / n, which is taken off. Several
        cells are joined by the mean of M**2, weighted by their light.
        """
        squares, total = np.zeros(len(pitches_px)), 0.0
        for i, j in np.argwhere(cells):
            x, y, light = self.spot(i, j)
            count = light.sum()
            if count < FEWEST_OF_A_SPOT:
                continue
            along = (x if across == "x" else y).ravel() / self.pixel_mm
            phases = np.exp(2j * np.pi * along[None, :] / np.asarray(pitches_px)[:, None])
            found = np.abs((phases * light.ravel()).sum(axis=1) / count) ** 2
            squares += count * (count * found - 1.0) / (count - 1.0)
            total += count
        if total == 0.0:
            return np.full(len(pitches_px), np.nan), np.full(len(pitches_px), np.nan)
        contrast = np.sqrt(np.maximum(squares / total, 0.0))
        return contrast, np.sqrt(0.5 * (1.0 - np.minimum(contrast, 1.0) ** 2) / total)

    def distortion(self, radius_mm: float) -> float:
        """Return how far outward the chief ray from a panel radius lands, over its right place."""
        terms = self.result.run.landing["place"]
        return float(np.polynomial.polynomial.polyval(radius_mm**2, terms)) - 1.0

    @property
    def corner_mm(self) -> float:
        """The distance of the panel's corner from the axis."""
        return 0.5 * float(np.hypot(self.result.optics.width_mm, self.result.optics.height_mm))

    def best_focus_mm(self) -> Estimate:
        """Return how far away, in mm, the screen should move for the lamp's own light to be sharp.

        Blur relative to the picture's size, over the whole panel, from sums of this one run.
        """
        throw = self.projection.throw_mm
        return self._estimate(lambda s: blur.best_shift(s.screen, self.growth) * throw)

    def blur_at_best_focus_px(self) -> Estimate:
        """Return the RMS blur over the whole picture with the screen at its best focus, in px."""
        optics = self.result.optics
        return self._estimate(lambda s: blur.best_rms_px(s.screen, optics, self.growth))

    def pupil(self, i: int, j: int) -> tuple[Reals, Reals]:
        """Return (photons, share of the squared blur) [16, 16] by place in the stop, for a cell."""
        photons, dx, dy, dd = np.moveaxis(self.result.tallies.stop_sums[i, j].astype(float), -1, 0)
        total = max(photons.sum(), 1.0)
        mean_x, mean_y = dx.sum() / total, dy.sum() / total
        squares = dd - (2.0 * (mean_x * dx + mean_y * dy)) / DIRECTION_SCALE
        squares += photons * (mean_x**2 + mean_y**2) / DIRECTION_SCALE
        whole = squares.sum()
        return photons, squares / whole if whole > 0.0 else np.zeros_like(squares)

    def trade_off(self) -> list[TradePoint]:
        """Return what smaller stops would give, from this one run: least first.

        Light within a ring is counted by cells of 1/16 of the stop's diameter, at their middles.
        """
        cells = self.result.tallies.stop_sums.astype(float)
        centres = (np.arange(16) - 7.5) / 8.0
        radii = np.hypot(*np.meshgrid(centres, centres))
        everything = cells[..., 0].sum()
        points = []
        for ring in range(2, STOP_RINGS + 1):
            inside = (radii <= ring / STOP_RINGS) | (ring == STOP_RINGS)
            kept = (cells * inside[..., None]).sum(axis=(2, 3))
            light = kept[..., 0].sum()
            if light == 0.0:
                continue
            share = light / everything
            spread = np.sqrt(max(share * (1.0 - share) / everything, 0.0))
            points.append(
                TradePoint(
                    self.result.scene.stop.diameter_mm * ring / STOP_RINGS,
                    Estimate(float(share), float(spread)),
                    *(self._ring_blur(kept[area]) for area in (MIDDLE, EVERYWHERE, CORNERS)),
                )
            )
        return points

    def _ring_blur(self, kept: Reals) -> float:
        kept = kept.reshape(-1, 4)
        kept = kept[kept[:, 0] > 1.0]
        if kept[:, 0].sum() < FEWEST_OF_A_RING:
            return float("nan")
        photons = kept[:, 0]
        mean = kept[:, 1:3] / DIRECTION_SCALE / photons[:, None]
        variance = kept[:, 3] / DIRECTION_SCALE / photons - (mean**2).sum(axis=1)
        variance *= photons / (photons - 1.0)
        return float(np.sqrt(max(np.average(variance, weights=photons), 0.0)) / self.pixel_mm)

    def _estimate(self, function: Callable[[sums.Sums], Reals]) -> Estimate:
        tallies = self.result.tallies
        return sums.estimate(sums.total(tallies), sums.without_each(tallies), function)


def one_cell(i: int, j: int) -> Cells:
    """Return a single cell of the field, as a choice of cells [9, 9]."""
    chosen = np.zeros((CELLS, CELLS), dtype=bool)
    chosen[i, j] = True
    return chosen


def screen_of(result: Result) -> ScreenView:
    """Return the screen of a result. Raises ResultError where its scene has none."""
    projection = projection_of(result.scene)
    if projection is None or not result.run.landing:
        raise ResultError(
            f"{result.name}: the scene has no [screen] table, so nothing was traced to a screen"
        )
    return ScreenView(result, projection)
