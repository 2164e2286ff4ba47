"""What a run says about the screen, by field: blur, drift, spots, focus, pupil and trade-off."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.results import blur, sums
from photonsim.results.errors import ResultError
from photonsim.results.estimate import Estimate
from photonsim.results.result import Result
from photonsim.results.tallies import DIRECTION_SCALE
from photonsim.scene import Projection, projection_of

Reals = NDArray[np.float64]
STOP_RINGS = 8


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
    def growth(self) -> float:
        """The share by which the picture grows as the screen moves by its own distance."""
        return self.projection.slope * self.projection.throw_mm / self.projection.magnification

    @property
    def photons(self) -> Reals:
        """Photons by cell that landed near their place."""
        return sums.total(self.result.tallies).screen[0, 0]

    def blur_px(self) -> tuple[Reals, Reals]:
        """Return (RMS blur, its standard error) by cell, in pixels."""
        return self._with_error(lambda screen: np.sqrt(blur.variance(screen)) / self.pixel_mm)

    def drift_px(self) -> tuple[Reals, Reals]:
        """Return (x, y) of the mean offset from the chief ray by cell, in pixels."""
        m = blur.moments(sums.total(self.result.tallies).screen)
        return m["dx"][0] / self.pixel_mm, m["dy"][0] / self.pixel_mm

    def radius_80_px(self) -> Reals:
        """Return the radius about the mean that holds 80 % of the light, by cell, in pixels.

        From the spots: as fine as their bins, 1/16 of `half_mm`.
        """
        found = np.full((9, 9), np.nan)
        for i, j in np.ndindex(9, 9):
            x, y, light = self.spot(i, j)
            if light.sum() < 5:
                continue
            mean_x, mean_y = (light * x).sum() / light.sum(), (light * y).sum() / light.sum()
            radii = np.hypot(x - mean_x, y - mean_y).ravel()
            order = np.argsort(radii)
            inside = np.cumsum(light.ravel()[order])
            found[i, j] = np.interp(0.8 * inside[-1], inside, radii[order])
        return found / self.pixel_mm

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

    def line_contrast(self, i: int, j: int, pitches_px: Reals, across: str) -> Reals:
        """Return the contrast of lines [n] in a cell, 0 to 1, for pitches [n] in panel pixels.

        `across` is the axis along which they repeat: 'x' for upright lines. The modulus of the
        spot's Fourier transform at 1/pitch (Hecht, Optics, section 11.3), pixels taken as points.
        """
        x, y, light = self.spot(i, j)
        along = (x if across == "x" else y).ravel() / self.pixel_mm
        phases = np.exp(2j * np.pi * along[None, :] / np.asarray(pitches_px)[:, None])
        total = light.sum()
        if total == 0.0:
            return np.full(len(pitches_px), np.nan)
        return np.abs((phases * light.ravel()).sum(axis=1)) / total

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
        return sums.estimate(
            self.result.tallies, lambda s: blur.best_shift(s.screen, self.growth) * throw
        )

    def blur_at_best_focus_px(self) -> Reals:
        """Return the RMS blur by cell with the screen at its best focus, in pixels."""
        screen = sums.total(self.result.tallies).screen
        shift = float(blur.best_shift(screen, self.growth)[0])
        return np.sqrt(blur.variance(screen, shift, self.growth))[0] / self.pixel_mm

    def lateral_colour_px(self) -> dict[str, Reals]:
        """Return the mean offset of red and blue from green by cell [9, 9, 2], in pixels.

        Only the colours that the scene's light has are there.
        """
        colours = sums.total(self.result.tallies).colours[0]
        with np.errstate(divide="ignore", invalid="ignore"):
            means = colours[:, 1:] / DIRECTION_SCALE / colours[:, :1] / self.pixel_mm
        return {
            name: np.moveaxis(means[k] - means[1], 0, -1)
            for k, name in ((0, "blue"), (2, "red"))
            if colours[k, 0].sum() and colours[1, 0].sum()
        }

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
                    *(self._ring_blur(kept[area]) for area in (blur.CENTRE, ..., blur.CORNERS)),
                )
            )
        return points

    def _ring_blur(self, kept: Reals) -> float:
        kept = kept.reshape(-1, 4)
        kept = kept[kept[:, 0] > 1.0]
        if not len(kept):
            return float("nan")
        photons = kept[:, 0]
        mean = kept[:, 1:3] / DIRECTION_SCALE / photons[:, None]
        variance = kept[:, 3] / DIRECTION_SCALE / photons - (mean**2).sum(axis=1)
        variance *= photons / (photons - 1.0)
        return float(np.sqrt(max(np.average(variance, weights=photons), 0.0)) / self.pixel_mm)

    def _with_error(self, function) -> tuple[Reals, Reals]:  # type: ignore[no-untyped-def]
        """Return (value, jackknife error) of a map [k, 9, 9] that follows from the sums."""
        tallies = self.result.tallies
        value = function(sums.total(tallies).screen)[0]
        replicates = function(sums.without_each(tallies).screen)
        g = len(replicates)
        if g < sums.FEWEST_BATCHES:
            return value, np.full((9, 9), np.nan)
        spread = ((replicates - replicates.mean(axis=0)) ** 2).sum(axis=0)
        return value, np.sqrt((g - 1) / g * spread)


def screen_of(result: Result) -> ScreenView:
    """Return the screen of a result. Raises ResultError where its scene has none."""
    projection = projection_of(result.scene)
    if projection is None or not result.run.landing:
        raise ResultError(
            f"{result.name}: the scene has no [screen] table, so nothing was traced to a screen"
        )
    return ScreenView(result, projection)
