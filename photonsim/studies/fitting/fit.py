"""A scene fitted to what a light meter showed at the finished lamp.

The lamp is traced anew for every set of parameters, always with the same random numbers, so that
predictions change by the parameters and hardly by luck.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Reals
from photonsim.results import Result, ResultError
from photonsim.results.panel import weights
from photonsim.results.tallies import PANEL_SUM_NAMES
from photonsim.scene import Panel, Scene, is_whole, number_at, unit_of
from photonsim.studies.fitting.likelihood import Data, Likelihood, maximise
from photonsim.studies.fitting.sheet_alone import sheet_alone
from photonsim.studies.goals import refuse_huge, refuse_twice
from photonsim.studies.points import Setting
from photonsim.workshop.readings import Reading

# Above, the one is as good as told by the other: their limits mean little apart.
TOLD_APART_BELOW = 0.95
# With luck alone, one sound fit in a hundred is called a bad one.
BAD_FIT_BELOW = 0.01
# The collected light changes slowly over the panel; over a smaller disc too few photons count.
SCREEN_SPOT_SHARE = 0.04
# Lines that a few lines have room for.
MOST_TOLD = 12


@dataclass(frozen=True)
class Free:
    """A number of the scene that may change, by its path, within limits."""

    path: str
    low: float
    high: float


@dataclass(frozen=True)
class Fitted:
    """What became of a free number. A limit is None where the readings set none in its range."""

    path: str
    unit: str
    start: float
    value: float
    low: float | None
    high: float | None

    def words(self) -> tuple[str, str]:
        """Return the value and its limits, no finer than a tenth of the width they leave."""
        ends = [end for end in (self.low, self.high) if end is not None]
        if not ends:
            return "any", "none within the range"
        reach = max(abs(end - self.value) for end in ends) or abs(self.value) or 1.0
        places = max(0, 2 - int(f"{reach:e}".split("e")[1]) - 1)
        low, high = (
            "open" if end is None else f"{end:.{places}f}" for end in (self.low, self.high)
        )
        return f"{self.value:.{places}f}", f"{low} to {high}"


@dataclass(frozen=True)
class Fit:
    """A fitted scene: its numbers, what the readings should have been, and what to doubt."""

    fitted: tuple[Fitted, ...]
    readings: tuple[Reading, ...]
    likelihood: Likelihood
    warnings: tuple[str, ...]

    def __repr__(self) -> str:
        """Tell the fitted numbers with their limits, and the first few warnings."""
        lines = [f"fit to {len(self.readings)} readings"]
        for number in self.fitted:
            value, limits = number.words()
            lines.append(f"  {number.path} = {value} {number.unit}({limits})")
        return "\n".join([*lines, *(f"warning: {words}" for words in self.warnings)][:MOST_TOLD])

    @property
    def values(self) -> dict[str, float]:
        """The fitted numbers by their paths, with four digits: more would not be meant."""
        return {number.path: float(f"{number.value:.4g}") for number in self.fitted}

    @property
    def residuals(self) -> Reals:
        """(Reading - prediction) / error for each reading, with the traced light's own error."""
        found = self.likelihood
        errors = np.hypot([r.uncertainty_lux for r in self.readings], found.prediction_errors)
        return (np.array([r.lux for r in self.readings]) - found.predictions) / errors


def fit(
    scene: Scene,
    readings: Sequence[Reading],
    free: Sequence[Free],
    *,
    photons: int = 1_000_000,
    seed: int = 1,
    threads: int | None = None,
    cell_mm: float = 10.0,
    relative: bool = False,
    confidence: float = 0.95,
    progress: Callable[[int], None] | None = None,
) -> Fit:
    """Return the scene's numbers that make the readings most likely, with limits.

    `cell_mm` is the diameter of the meter's cell. With `relative` the meter's scale is unknown:
    only ratios between readings of one place count; readings of a sheet alone are always taken so.
    `progress` is called with the number of lamps traced so far. Raises SceneError for a path or
    range that makes no lamp, ResultError where the readings are too few.
    """
    refuse_twice(number.path for number in free)
    for number in free:
        refuse_huge(number.path, number.low, number.high)
    start = _checked(scene, free)
    data = Data(
        np.array([reading.lux for reading in readings]),
        np.array([reading.uncertainty_lux for reading in readings]),
        scale_groups(readings, relative),
    )
    known = len(readings) - (int(data.groups.max(initial=-1)) + 1)
    if known < len(free):
        raise ResultError(
            f"readings: {len(readings)}, of which {known} tell more than their scale, cannot tell "
            f"{len(free)} numbers; take more readings or free fewer numbers"
        )
    bounds = [(number.low, number.high) for number in free]
    inside = [min(max(value, low), high) for value, (low, high) in zip(start, bounds, strict=True)]
    # One guide for all lamps, so that predictions change by the parameters alone. On the panel all
    # light counts, and of that a guide leaves some less sure.
    guiding = "auto" if any(reading.place == "screen" for reading in readings) else "off"
    setting = Setting(scene, seed=seed, threads=threads, guiding=guiding)
    paths = [number.path for number in free]
    model = _TracedModel(setting, readings, paths, photons, cell_mm, progress)
    found = maximise(model, data, inside, bounds, confidence)
    fitted = tuple(
        Fitted(
            number.path,
            unit_of(number.path),
            start[k],
            float(found.best[k]),
            None if found.unlimited[k][0] else float(found.low[k]),
            None if found.unlimited[k][1] else float(found.high[k]),
        )
        for k, number in enumerate(free)
    )
    return Fit(fitted, tuple(readings), found, tuple(_warnings(fitted, found)))


def scale_groups(readings: Sequence[Reading], relative: bool) -> NDArray[np.int64]:
    """Return the number of the unknown factor that each reading [n] shares; -1 for none."""
    keys = [
        reading.part if reading.place == "sheet" else f"/{reading.place}" if relative else None
        for reading in readings
    ]
    order = {key: number for number, key in enumerate(dict.fromkeys(k for k in keys if k))}
    return np.array([-1 if key is None else order[key] for key in keys], dtype=np.int64)


def _checked(scene: Scene, free: Sequence[Free]) -> list[float]:
    """Return the start values; both ends of every range must make a lamp."""
    if not free:
        raise ResultError("no number of the scene is free: name at least one to fit")
    start = []
    for number in free:
        if is_whole(scene, number.path):
            raise ResultError(f"{number.path}: counts things and cannot be fitted")
        value = float(number_at(scene, number.path))
        if not number.low < number.high:
            raise ResultError(
                f"{number.path}: the range {number.low:g} to {number.high:g} is empty"
            )
        for end in (number.low, number.high):
            scene.with_numbers({number.path: end})
        start.append(value)
    return start


@dataclass
class _TracedModel:
    """Predicts the readings by tracing the lamp, and each sheet that was measured alone."""

    setting: Setting
    readings: Sequence[Reading]
    paths: Sequence[str]
    photons: int
    cell_mm: float
    progress: Callable[[int], None] | None
    traced: int = 0

    def __call__(self, values: Reals) -> tuple[Reals, Reals]:
        numbers = dict(zip(self.paths, values.tolist(), strict=True))
        scene = self.setting.scene.with_numbers(numbers)
        # What each reading is of: a sheet, or the lamp.
        sheets = [reading.part if reading.place == "sheet" else "" for reading in self.readings]
        traced = {sheet: self._trace(scene, sheet) for sheet in dict.fromkeys(sheets)}
        seen = [
            sheet_intensity(traced[sheet], reading.angle_deg)
            if sheet
            else light_at(traced[sheet], reading, self.cell_mm)
            for sheet, reading in zip(sheets, self.readings, strict=True)
        ]
        return np.array([value for value, _ in seen]), np.array([error for _, error in seen])

    def _trace(self, scene: Scene, sheet: str) -> Result:
        if sheet:
            scene = sheet_alone(scene, sheet)
        # A sheet alone has nothing to guide by: its beam is what it is.
        setting = replace(self.setting, guiding="off") if sheet else self.setting
        result = setting.tracer(scene)(self.photons)
        self.traced += 1
        if self.progress is not None:
            self.progress(self.traced)
        return result


def light_at(result: Result, reading: Reading, cell_mm: float) -> tuple[float, float]:
    """Return (illuminance in lux, standard error) that a meter's round cell should show.

    At the panel: the light that arrives there. On the screen: what goes on through the stop, times
    the transmittances, spread over the picture as much larger than the panel.
    """
    panel = result.scene.panel
    if reading.place == "panel":
        light, factor, diameter = "incident", 1.0, cell_mm
    else:
        shrink = panel.active_width_mm / reading.picture_width_mm
        light, factor = "collected", result.optics.transmittance * shrink**2
        diameter = max(cell_mm * shrink, SCREEN_SPOT_SHARE * panel.active_width_mm)
    inside = _disc(panel, reading.x_mm, reading.y_mm, 0.5 * diameter)
    counts = result.panel_counts(light)[inside]
    each = weights.by_pixel(result.tallies, PANEL_SUM_NAMES.index(light))[inside]
    lux = factor * result.lux_per_count / inside.mean()
    # A count of none still has an error, about that of one photon.
    return counts.sum() * lux, math.sqrt(max(counts @ each, each.mean() ** 2)) * lux


def _disc(panel: Panel, x_mm: float, y_mm: float, radius: float) -> NDArray[np.bool_]:
    """Return which pixels [rows, columns] have their centre in a disc; the nearest one if none."""
    x = ((np.arange(panel.columns) + 0.5) / panel.columns - 0.5) * panel.active_width_mm
    y = ((np.arange(panel.rows) + 0.5) / panel.rows - 0.5) * panel.active_height_mm
    squared = (x[None, :] - x_mm) ** 2 + (y[:, None] - y_mm) ** 2
    return squared <= max(radius**2, float(squared.min()))


def sheet_intensity(result: Result, angle_deg: float) -> tuple[float, float]:
    """Return (intensity, its standard error) behind a sheet at an angle, in photons per steradian.

    From the light within half a degree or more of the angle, whatever its side.
    """
    polar = result.tallies.batches["polar"].sum(axis=0)[0].astype(float)
    edges = np.arange(len(polar) + 1.0)
    low, high = max(0.0, angle_deg - 1.0), min(90.0, angle_deg + 1.0)
    shares = np.clip(np.minimum(edges[1:], high) - np.maximum(edges[:-1], low), 0.0, 1.0)
    rings = 2.0 * math.pi * -np.diff(np.cos(np.radians(edges)))
    photons, solid_angle = float(shares @ polar), float(shares @ rings)
    return photons / solid_angle, math.sqrt(max(photons, 1.0)) / solid_angle


def _warnings(fitted: Sequence[Fitted], found: Likelihood) -> list[str]:
    """Return what the readings cannot say, and whether the scene explains them at all."""
    remarks = []
    for number in fitted:
        if number.low is None and number.high is None:
            remarks.append(f"the readings say nothing about {number.path} within its range")
        elif number.low is None or number.high is None:
            side = "below" if number.low is None else "above"
            remarks.append(f"{number.path}: the readings set no limit {side} within its range")
    correlation = found.correlation
    for j in range(len(fitted)):
        for k in range(j):
            if abs(correlation[j, k]) > TOLD_APART_BELOW:
                way = "lowered" if correlation[j, k] < 0.0 else "raised"
                remarks.append(
                    f"the readings cannot tell {fitted[k].path} from {fitted[j].path}: one lowered "
                    f"looks like the other {way} (correlation {correlation[j, k]:+.2f}); fix one, "
                    "or add readings that only one of them changes"
                )
    if found.chance < BAD_FIT_BELOW:
        remarks.append(
            f"the scene does not explain the readings (chi-squared {found.chi_squared:.0f} for "
            f"{found.degrees} degrees of freedom): something else differs, or uncertainties are "
            "too small; the limits are then too narrow"
        )
    return remarks
