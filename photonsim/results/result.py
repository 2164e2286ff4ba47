"""Result: a scene, the run that traced it, and what was counted; figures are computed on demand."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from os import PathLike, fspath
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Reals, Whole
from photonsim.results.errors import ResultError, whole_number
from photonsim.results.estimate import Estimate
from photonsim.results.figure_names import figure_named
from photonsim.results.files.file import is_hdf5, load_traced, save_traced
from photonsim.results.labelled.array import LabelledArray
from photonsim.results.labelled.frame import data_frame
from photonsim.results.measured import Samples, measured
from photonsim.results.merit import nine_points
from photonsim.results.optics import Optics, optics_of
from photonsim.results.panel import weights
from photonsim.results.panel.blocks import (
    BLOCK_NOISE,
    block_edges,
    block_sums,
    print_columns,
    quiet_columns,
)
from photonsim.results.registry import FIGURES, Shown, asked_by, shown_in
from photonsim.results.tallies import DIRECTION_SCALE, PANEL_SUM_NAMES
from photonsim.results.traced import Traced
from photonsim.scene import Scene, file_and_variant, load_scene, validated
from photonsim.words.notebook import html_table

if TYPE_CHECKING:
    import pandas

ANGLES = ("mean_angle_x", "mean_angle_y", "rms_angle")


class FateCount(NamedTuple):
    """How many photons ended in one way. `group`: stop, absorbed, blocked, escaped or guard.

    With a guide a history stands for a part of a photon, or two at most: `photons` is a multiple of
    1 / counts_per_photon.
    """

    name: str
    group: str
    photons: float


@dataclass(frozen=True)
class Result(Traced):
    """What a run gives: what it counted, and the figures of merit that follow from it.

    >>> import photonsim
    >>> result = photonsim.trace("scenes/d_split_film.toml", photons=65_536)
    >>> result.photons, sum(fate.photons for fate in result.fates)
    (65536, 65536.0)
    """

    def __repr__(self) -> str:
        """Tell the run, and the figures that are printed after it, in a few lines."""
        found = [f"  {words:<20} {value}" for words, value in self.headline()]
        return "\n".join([f"Result of {self._told}", *found])

    def _repr_html_(self) -> str:
        table = html_table([("figure", "value"), *self.headline()], f"Result of {self._told}")
        return table + (self.map("collected")._repr_html_() if self.photons else "")

    @property
    def _told(self) -> str:
        return f"'{self.name}': {self.photons:,} photons, seed {self.seed}, {self.run.status}"

    def headline(self, asked: Iterable[str] = ()) -> list[tuple[str, str]]:
        """Return the words and values of the figures printed after a run, and of those `asked`."""
        names = shown_in(Shown.TRACE, [*asked_by(self.scene), *asked])
        shown = [FIGURES[name] for name in names]
        return [(one.words, self.estimate(one.name).text(one.scale, one.unit)) for one in shown]

    @property
    def is_complete(self) -> bool:
        """Whether the run ended by its own stop rule."""
        return self.run.status == "complete"

    @property
    def name(self) -> str:
        """The scene's title, or 'untitled'."""
        return self.scene.title or "untitled"

    @cached_property
    def optics(self) -> Optics:
        """The facts of the scene that figures of merit need."""
        return optics_of(self.scene)

    @cached_property
    def fates(self) -> tuple[FateCount, ...]:
        """The ledger: every fate with its photons, which sum to `photons` exactly."""
        counts = self.tallies.batches["fates"].sum(axis=0)
        return tuple(
            FateCount(name, group, int(count) / self.tallies.counts_per_photon)
            for (name, group), count in zip(self.fate_names, counts, strict=True)
        )

    @cached_property
    def samples(self) -> Samples:
        """What every figure of merit is made from."""
        return Samples(self.tallies)

    @property
    def events_per_photon(self) -> float:
        """Mean number of surfaces that a photon met."""
        return float(self.tallies.batches["events"].sum()) / max(self.photons, 1)

    def estimate(self, name: str) -> Estimate:
        """Return a figure of merit with its standard error.

        It is named by its key in `FIGURES` or its words. The value is nan with an infinite error
        where there are too few photons for it. Raises ResultError for another name.

        >>> import photonsim
        >>> result = photonsim.trace("scenes/d_split_film.toml", photons=1e6)
        >>> print(result.estimate("incident fraction").text(100, "%"))
        35.781 ± 0.039 %
        """
        figure = figure_named(name)
        found = measured(figure, self.samples, self.optics).estimate
        if not figure.of_emitted:
            return found
        return self._as_share(found, weights.of_all(self.tallies, figure.light))

    def share_of(self, fates: Iterable[FateCount]) -> Estimate:
        """Return the share of all photons that met one of some fates of the ledger."""
        columns = [self.fates.index(fate) for fate in fates]
        found = self.samples.estimate(lambda s: s.fates[:, columns].sum(axis=1) / s.photons)
        guide = self.tallies.guide
        return self._as_share(found, guide.heaviest if guide else 1)

    def _as_share(self, found: Estimate, weight: float) -> Estimate:
        """Return a share of all photons with its error, which batches or else the count give.

        The law is the binomial one, or that of histories which add `weight` counts, their mean by
        light (results.panel.weights). Photons of a block are no such independent ones, but spread
        more evenly (kernel/digital_net.py), so it errs on the safe side.
        """
        if self.samples.are_enough:
            return found
        share = found.value
        of_one = weight / self.tallies.counts_per_photon
        error = math.sqrt(max(share * (of_one - share), 0.0) / max(self.photons, 1))
        return replace(found, error=error, degrees=math.inf)

    def panel_counts(self, name: str) -> NDArray[np.int64]:
        """Return one of the panel sums, 'incident' or 'collected' ..., [rows, columns]."""
        return self.tallies.panel[:, :, PANEL_SUM_NAMES.index(name)]

    def effective_counts(self, name: str) -> Reals:
        """Return 'incident' or 'collected' [rows, columns] in effective photons.

        That is by how many photons of one weight it is counted: see results.panel.weights. Without
        a guide it is the counts.
        """
        return self.panel_counts(name) / weights.by_pixel(self.tallies, PANEL_SUM_NAMES.index(name))

    def map(self, name: str = "collected", blocks: Whole | None = None) -> LabelledArray:
        """Return a map of the panel by block, over x_mm and y_mm from its middle.

        `name` is "incident" or "collected", the light that arrives and what of it goes on through
        the stop, both in lux before the panel's transmittance; "mean_angle_x", "mean_angle_y" or
        "rms_angle", the direction of the light that arrives and its spread about it, in degrees.
        `blocks` is the count of columns; without it, as many as leave the median block 5 % of
        counting noise. Raises ResultError for another name.

        >>> import photonsim
        >>> result = photonsim.trace("scenes/d_split_film.toml", photons=65_536)
        >>> result.map("rms_angle", blocks=16).shape
        (9, 16)
        """
        lights = ("incident", "collected")
        if name not in lights + ANGLES:
            raise ResultError(f"no map {name!r}; there are {', '.join(lights + ANGLES)}")
        counts = self.effective_counts(name if name in lights else "incident")
        if blocks is None:
            columns = quiet_columns(counts, BLOCK_NOISE, print_columns(counts.shape))
        else:
            columns = whole_number("blocks", blocks, 1, counts.shape[1])
        if name in lights:
            values, unit = self.illuminance_map(name, columns), "lx"
        else:
            values, unit = self.spread_map(columns)[ANGLES.index(name)], "°"
        sizes = (self.optics.height_mm, self.optics.width_mm)
        y, x = map(_middles_mm, counts.shape, values.shape, sizes)
        return LabelledArray(name, unit, values, {"y_mm": y, "x_mm": x})

    def to_pandas(self) -> pandas.DataFrame:
        """Return every figure of merit by name: words, value, standard error and unit, as printed.

        Raises ResultError where pandas is not installed.
        """
        found = [(figure, self.estimate(name)) for name, figure in FIGURES.items()]
        columns = {
            "figure": list(FIGURES),
            "words": [figure.words for figure, _ in found],
            "value": [estimate.value * figure.scale for figure, estimate in found],
            "error": [estimate.error * figure.scale for figure, estimate in found],
            "unit": [figure.unit for figure, _ in found],
        }
        return data_frame(columns, "figure")

    def illuminance_map(self, name: str = "collected", blocks: int = 64) -> Reals:
        """Return light on the panel in lux by block, [block rows, block columns], row 0 lowest.

        `name` is 'incident' (what arrives) or 'collected' (the part of it that goes on through the
        stop), both before the panel's transmittance. Pixels are joined to `blocks` columns of
        nearly square blocks (results.panel.blocks), since single pixels count few photons.
        """
        areas = block_sums(np.ones(self.tallies.panel.shape[:2], dtype=np.int64), blocks)
        counts = block_sums(self.panel_counts(name), blocks)
        return counts / areas * self.tallies.panel[:, :, 0].size * self.lux_per_count

    def spread_map(self, blocks: int = 48) -> tuple[Reals, Reals, Reals]:
        """Return (mean angle x, mean angle y, RMS angle about the mean), degrees, by block.

        Of the light that arrives at the panel. sin**2 of the RMS angle is the variance of u plus
        that of v. nan where fewer than 2 effective photons arrived.
        """
        effective = block_sums(self.effective_counts("incident"), blocks)
        effective[effective < 2.0] = np.nan
        light = block_sums(self.panel_counts("incident"), blocks)
        count = np.where(np.isnan(effective), np.nan, light)
        u, v, uu, vv = (
            block_sums(self.panel_counts(name), blocks) / DIRECTION_SCALE / count
            for name in ("sum_u", "sum_v", "sum_uu", "sum_vv")
        )
        # The mean is known from the same photons: n - 1.
        variance = np.clip(uu - u * u + vv - v * v, 0.0, None) * effective / (effective - 1.0)
        return (
            np.degrees(np.arcsin(u)),
            np.degrees(np.arcsin(v)),
            np.degrees(np.arcsin(np.sqrt(np.minimum(variance, 1.0)))),
        )

    def nine_points(self, name: str = "collected") -> Reals:
        """Return [3, 3] illuminance in lux at the centres of nine equal fields, row 0 lowest."""
        light = PANEL_SUM_NAMES.index(name)
        return nine_points(self.samples.total, light)[0] * 81.0 * self.lux_per_count

    def save(self, path: str | PathLike[str]) -> None:
        """Write the result to an HDF5 file, whole or not at all. Raises ResultError."""
        save_traced(self, path)

    @property
    def lux_per_count(self) -> float:
        """Mean illuminance of the panel in lux that one count of this run stands for."""
        area_m2 = self.optics.width_mm * self.optics.height_mm * 1e-6
        return self.optics.flux_lm / max(self.emitted, 1) / area_m2


def load_result(path: str | PathLike[str]) -> Result:
    """Read a result file.

    Raises ResultError with one sentence where it is not a sound one, TypeError for what is no path.

    >>> import photonsim
    >>> result = photonsim.trace("scenes/d_split_film.toml", photons=102_400, save_to="lamp.h5")
    >>> photonsim.load_result("lamp.h5").photons
    102400
    """
    if not isinstance(path, str | PathLike):
        raise TypeError(f"a result file is named by its path, not by {type(path).__name__}")
    return Result(**vars(load_traced(path)))


def scene_of(given: Scene | Result | str | PathLike[str]) -> Scene:
    """Return a scene as it is, that of a result, or that of a file of either.

    Raises SceneError, ResultError, or TypeError for what is none of these.
    """
    if isinstance(given, Scene):
        return validated(given)
    if isinstance(given, Result):
        return given.scene
    if not isinstance(given, str | PathLike):
        raise TypeError(
            "a scene is given as a Scene, a Result or the path of a file of either, not as "
            f"{type(given).__name__}"
        )
    file, variant = file_and_variant(fspath(given))
    if not is_hdf5(file):
        return load_scene(given)
    scene = load_result(file).scene
    return scene.variant(variant) if variant else scene


def _middles_mm(pixels: int, blocks: int, size_mm: float) -> Reals:
    """Return the middles of blocks of pixels along an axis, from that of the panel."""
    edges = (block_edges(pixels, blocks) / pixels - 0.5) * size_mm
    return 0.5 * (edges[1:] + edges[:-1])
