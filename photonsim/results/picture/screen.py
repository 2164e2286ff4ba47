"""What a run says about the screen, by cell of the field: blur, centroid shift, spots, focus."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from photonsim.arrays import Flags, Reals
from photonsim.results.errors import ResultError
from photonsim.results.estimate import Estimate
from photonsim.results.merit import COLLECTED
from photonsim.results.panel import weights
from photonsim.results.panel.field import CELLS, EVERYWHERE
from photonsim.results.picture import blur
from photonsim.results.picture.spot import centres, radius_80_mm
from photonsim.results.picture.stop import net_share
from photonsim.results.result import Result
from photonsim.results.sums import Sums
from photonsim.scene import Projection

# Of fewer photons nobody knows the shape of their spot.
FEWEST_OF_A_SPOT = 10


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
    def mean_weights(self) -> Reals:
        """The mean weight of the collected light by cell: see results.panel.weights."""
        return weights.by_cell(self.result.samples.total, COLLECTED)[0]

    def blur_px(self) -> tuple[Reals, Reals]:
        """Return (RMS blur, its standard error) by cell, in pixels."""
        return self.result.samples.estimates(lambda s: np.sqrt(blur.variance(s)) / self.pixel_mm)

    def centroid_shift_px(self) -> tuple[Reals, Reals]:
        """Return (x, y) of the mean offset from the chief ray by cell, in pixels."""
        m = blur.moments(self.result.samples.total.screen)
        return m["dx"][0] / self.pixel_mm, m["dy"][0] / self.pixel_mm

    def colour_px(self) -> tuple[Reals, Reals]:
        """Return (how far red lands outside blue, its standard error) by cell, in pixels."""
        result = self.result
        return result.samples.estimates(lambda s: blur.colour_px(s, result.optics))

    def relative_light(self) -> tuple[Reals, Reals]:
        """Return (illuminance of the screen over its mean, standard error) by cell."""
        return self.result.samples.estimates(self.light_of)

    def light_of(self, s: Sums) -> Reals:
        """Return the illuminance of the screen over its mean by cell, [k, 9, 9].

        Where chief rays land farther out than they should, the same light covers more of the
        screen.
        """
        counts = s.cells[:, 1]
        area = self.growth_of_area(self.radii_mm**2)
        # Without any light, or where a tiny lens throws no picture, there is no mean: nan.
        with np.errstate(divide="ignore", invalid="ignore"):
            mean = counts.sum(axis=(1, 2), keepdims=True) / area.sum()
            return np.asarray(counts / area / mean)

    def growth_of_area(self, squared: Reals) -> Reals:
        """Return the area of the picture over that without distortion, for squared panel radii.

        A place r goes to r s(r**2): the area grows by s (s + 2 r**2 s'). Radii in mm.
        """
        # The highest term first, as np.polyval has it: numpy.polynomial takes 0.01 s of a start.
        terms = self.result.run.landing["place"][::-1]
        stretch = np.polyval(terms, squared)
        return np.asarray(
            stretch * (stretch + 2.0 * squared * np.polyval(np.polyder(terms), squared))
        )

    @property
    def radii_mm(self) -> Reals:
        """The distances of the cells' middles from the axis in mm."""
        optics, steps = self.result.optics, (np.arange(CELLS) + 0.5) / CELLS - 0.5
        return np.hypot(steps * optics.width_mm, steps[:, None] * optics.height_mm)

    def radius_80_px(self, cells: Flags = EVERYWHERE) -> Estimate:
        """Return the radius that holds 80 % of the light of some cells, in pixels.

        About the mean place of each cell's light; see results.picture.spot.
        """
        m = blur.moments(self.result.samples.total.screen)
        means = np.stack([m["dx"][0][cells], m["dy"][0][cells]], axis=-1)
        found = radius_80_mm(
            self.result.tallies.spots[cells].astype(float),
            self.halves_mm[cells],
            means,
            self.mean_weights[cells],
            net_share(self.result, cells),
        )
        return Estimate(found.value / self.pixel_mm, found.error / self.pixel_mm)

    @property
    def halves_mm(self) -> Reals:
        """Half the sides of the cells' spots, on the panel's scale in mm."""
        return np.reshape(self.result.run.landing["half_mm"], (CELLS, CELLS))

    def spot(self, i: int, j: int) -> tuple[Reals, Reals, Reals]:
        """Return (x, y, photons) of the light around a cell's chief ray by bin, in mm.

        [5, 32, 32], by nested squares; see results.picture.spot.
        """
        light = self.result.tallies.spots[i, j].astype(float)
        middles = centres(self.halves_mm[i, j], *light.shape[:2])
        x = np.broadcast_to(middles[:, None, :], light.shape)
        y = np.broadcast_to(middles[:, :, None], light.shape)
        return x, y, light

    def line_contrast(self, cells: Flags, pitches_px: Reals, across: str) -> tuple[Reals, Reals]:
        """Return (contrast of lines, standard error) [n], 0 to 1, for pitches [n] in panel pixels.

        `across` is the axis along which they repeat: 'x' for upright lines. The modulus M of the
        spot's Fourier transform at 1/pitch (Hecht, Optics, section 11.3), pixels taken as points,
        light as spread evenly over its bin; of n effective photons its square comes out too large
        by (1 - M**2) / n, which is taken off. Several cells are joined by the mean of M**2,
        weighted by their light.
        """
        squares, total, noise = np.zeros(len(pitches_px)), 0.0, 0.0
        for i, j in np.argwhere(cells):
            x, y, light = self.spot(i, j)
            weight = self.mean_weights[i, j]
            count = light.sum() / weight
            if count < FEWEST_OF_A_SPOT:
                continue
            bins = (x[:, 0, 1:2] - x[:, 0, :1]) / self.pixel_mm
            # Along the lines nothing changes: the light of a bin's row or column counts as one.
            places = (x[:, 0] if across == "x" else y[:, :, 0]) / self.pixel_mm
            row = light.sum(axis=1 if across == "x" else 2)
            waves = [
                row * np.sinc(np.abs(bins) / pitch) * np.exp(2j * np.pi * places / pitch)
                for pitch in pitches_px
            ]
            found = np.abs(np.sum(waves, axis=(1, 2)) / light.sum()) ** 2
            squares += light.sum() * (count * found - 1.0) / (count - 1.0)
            total += light.sum()
            noise += weight * light.sum()
        if total == 0.0:
            return np.full(len(pitches_px), np.nan), np.full(len(pitches_px), np.nan)
        contrast = np.sqrt(np.maximum(squares / total, 0.0))
        error = np.sqrt(0.5 * (1.0 - np.minimum(contrast, 1.0) ** 2) * noise) / total
        return contrast, error

    def distortion(self, radius_mm: float) -> float:
        """Return how far outward the chief ray from a panel radius lands, over its right place."""
        return float(np.polyval(self.result.run.landing["place"][::-1], radius_mm**2)) - 1.0

    @property
    def corner_mm(self) -> float:
        """The distance of the panel's corner from the axis."""
        return 0.5 * float(np.hypot(self.result.optics.width_mm, self.result.optics.height_mm))

    def best_focus_mm(self) -> Estimate:
        """Return how far away, in mm, the screen should move for the lamp's own light to be sharp.

        Blur relative to the picture's size, over the whole panel, from sums of this one run.
        """
        throw = self.projection.throw_mm
        return self.result.samples.estimate(lambda s: blur.best_shift(s, self.growth) * throw)

    def blur_at_best_focus_px(self) -> Estimate:
        """Return the RMS blur over the whole picture with the screen at its best focus, in px."""

        def moved(s: Sums) -> Reals:
            shift = blur.best_shift(s, self.growth)
            return blur.rms_px(s, self.result.optics, shift=shift, growth=self.growth)

        return self.result.samples.estimate(moved, curved=True)


def one_cell(i: int, j: int) -> Flags:
    """Return a single cell of the field, as a choice of cells [9, 9]."""
    chosen = np.zeros((CELLS, CELLS), dtype=bool)
    chosen[i, j] = True
    return chosen


def screen_of(result: Result) -> ScreenView:
    """Return the screen of a result. Raises ResultError where its scene has none."""
    projection = result.scene.projection
    if projection is None or not result.run.landing:
        raise ResultError(
            f"{result.name}: the scene has no [screen] table, so nothing was traced to a screen"
        )
    return ScreenView(result, projection)
