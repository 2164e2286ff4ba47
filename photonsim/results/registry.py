"""The figures of merit, each declared once: name, words, unit, which way is better, where shown.

A figure declared here stands in every comparison's CSV, every report and every record of a study,
and in the tables and drawings that its `shown` names; options, goals and limits take it by its name
or by its words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import Flag, auto
from functools import partial
from operator import attrgetter

from photonsim.arrays import Reals
from photonsim.results import merit
from photonsim.results.merit import ARRIVING, COLLECTED
from photonsim.results.optics import Optics
from photonsim.results.panel import extremes, structure
from photonsim.results.panel.field import CORNERS, MIDDLE
from photonsim.results.picture import blur
from photonsim.results.sums import Sums
from photonsim.scene import Scene

Function = Callable[[Sums, Optics], Reals]
Count = Callable[[Sums], Reals]
COLLECTED_PHOTONS: Count = attrgetter("collected")


class Shown(Flag):
    """Where a figure is shown without being asked for."""

    TRACE = auto()
    COMPARE = auto()
    STUDY = auto()
    DRAWING = auto()
    NOWHERE = 0
    EVERYWHERE = TRACE | COMPARE | STUDY | DRAWING


@dataclass(frozen=True)
class Figure:
    """A figure of merit.

    `words` are the name in words, without its `unit`; `better` is +1 where more is better, -1 where
    less is, 0 where it depends; `meaning` says under a table what the words leave open. `counted`
    gives the photons [k] that the figure is in proportion to, where it is, of all that are emitted.
    Where there is an `extreme`, the function gives readings [k, n] and this the figure [k], from
    them and their covariance [n, n]; below `fewest` effective photons of its `light` it is
    withheld. A `rough` figure goes in steps or jumps, which a single batch does not show; a
    `curved` one, never below 0, would be off by few photons: see results.sums.
    """

    name: str
    words: str
    function: Function
    unit: str = ""
    better: int = 0
    shown: Shown = Shown.NOWHERE
    meaning: str = ""
    counted: Count | None = None
    extreme: Callable[[Reals, Reals], Reals] | None = None
    light: int = COLLECTED
    fewest: int = 0
    rough: bool = False
    curved: bool = False

    def __repr__(self) -> str:
        return f"<{self.heading}>"

    @property
    def scale(self) -> float:
        """What a value is multiplied by for printing in its unit."""
        return 100.0 if self.unit == "%" else 1.0

    @property
    def of_emitted(self) -> bool:
        """Whether the figure is a share of all photons emitted."""
        return self.counted is not None and self.unit == "%"

    @property
    def heading(self) -> str:
        """The words with the unit, for an axis or a table's head."""
        return f"{self.words}, {self.unit}" if self.unit else self.words


def shown_in(place: Shown, asked: Iterable[str] = ()) -> tuple[str, ...]:
    """Return the names of the figures that are shown in a place, and then of those asked for."""
    usual = [name for name, figure in FIGURES.items() if figure.shown & place]
    return tuple(dict.fromkeys([*usual, *asked]))


def asked_by(scene: Scene) -> tuple[str, ...]:
    """Return the names of the figures that a scene gives reason to show."""
    return () if scene.panel.polariser_deg is None else ("polarisation_gain",)


def _share(
    name: str,
    words: str,
    counted: Count,
    meaning: str,
    shown: Shown = Shown.NOWHERE,
    light: int = ARRIVING,
) -> Figure:
    """Return the figure that is the share of all photons emitted which are counted of a light."""

    def share(s: Sums, optics: Optics) -> Reals:
        return counted(s) / s.photons

    return Figure(name, words, share, "%", 1, shown, meaning, counted, light=light)


def _extremes(prefix: str, light: int, shown: Shown) -> tuple[Figure, ...]:
    """Return the figures that are the least or largest of several readings of one light."""

    readings = (merit.nine_over_mean, merit.thirteen_deviations, merit.rim_over_mean)
    nine, thirteen, rim, waves = (partial(of, light=light) for of in (*readings, structure.waves))
    figure = partial(Figure, light=light, fewest=merit.FEWEST_OF_CELLS)
    name, words = (f"{prefix}_", f"{prefix} ") if prefix else ("", "")
    return (
        figure(
            f"{name}uniformity",
            f"{words}uniformity",
            nine,
            better=1,
            shown=shown,
            meaning="least over mean of nine points; above 1 by luck alone",
            extreme=extremes.least,
        ),
        figure(
            f"{name}uniformity_max",
            f"{words}uniformity, min/max",
            nine,
            better=1,
            meaning="least over largest of nine points; above 1 by luck alone",
            extreme=extremes.least_over_most,
        ),
        figure(
            f"{name}deviation_13",
            f"{words}deviation, 13 points",
            thirteen,
            "%",
            better=-1,
            meaning="farthest of thirteen points from the mean of nine",
            extreme=extremes.farthest,
        ),
        figure(
            f"{name}darkest_edge",
            f"{words}darkest edge",
            rim,
            better=1,
            shown=shown,
            meaning="the light of the outermost 32nd of width or height, or of a corner, over the "
            "mean of the picture",
            extreme=extremes.least,
        ),
        figure(
            f"{name}structure",
            f"{words}structure",
            waves,
            "%",
            better=-1,
            shown=shown,
            meaning="amplitude at the emitters' pitch over the mean",
            extreme=structure.strongest,
            fewest=structure.FEWEST_OF_A_WAVE,
        ),
    )


def _half_intensity(axis: str) -> Figure:
    """Return the half-intensity angle in the plane of an axis and that of the lamp."""
    function = partial(merit.half_intensity_deg, plane=f"plane_{axis}")
    name, words = f"half_intensity_{axis}_deg", f"half intensity, {axis}"
    return Figure(name, words, function, "°", rough=True)


_blur = partial(Figure, unit="px", better=-1, curved=True)

FIGURES: dict[str, Figure] = {
    figure.name: figure
    for figure in (
        Figure(
            "collected_lm",
            "collected",
            merit.collected_lm,
            "lm",
            better=1,
            shown=Shown.EVERYWHERE,
            meaning="light through panel, lenses and stop",
            counted=COLLECTED_PHOTONS,
        ),
        _share(
            "collected_fraction",
            "collected fraction",
            COLLECTED_PHOTONS,
            "what gets to the stop of all light emitted, before losses in panel and lenses",
            Shown.TRACE | Shown.COMPARE | Shown.STUDY,
            COLLECTED,
        ),
        _share(
            "incident_fraction",
            "incident fraction",
            attrgetter("incident"),
            "what arrives at the panel of all light emitted",
        ),
        _share(
            "near_axis_fraction",
            "near-axis fraction",
            merit.near_axis,
            f"what arrives at the panel within {merit.NEAR_AXIS_DEG}° of the axis of all "
            "light emitted",
            Shown.EVERYWHERE,
        ),
        Figure(
            "acceptance",
            "acceptance",
            merit.acceptance,
            "%",
            better=1,
            meaning="what goes on through the stop of the light at the panel",
        ),
        Figure(
            "polarisation_gain",
            "polarisation gain",
            merit.polarisation_gain,
            better=1,
            meaning="collected over what it would be if the panel's polariser took half of all "
            "light, whatever its polarisation",
        ),
        *_extremes("", COLLECTED, Shown.EVERYWHERE),
        *_extremes("incident", ARRIVING, Shown.NOWHERE),
        Figure(
            "rms_angle_deg",
            "RMS angle",
            merit.rms_angle_deg,
            "°",
            shown=Shown.TRACE | Shown.COMPARE | Shown.DRAWING,
            meaning="from the axis, of the light that arrives at the panel",
        ),
        _half_intensity("x"),
        _half_intensity("y"),
        _blur(
            "blur",
            "RMS blur",
            blur.rms_px,
            shown=Shown.TRACE | Shown.COMPARE,
            meaning="of a point of the picture, over all of it, in panel pixels",
        ),
        _blur("blur_centre", "RMS blur, centre", partial(blur.rms_px, cells=MIDDLE)),
        _blur("blur_corner", "RMS blur, corner", partial(blur.rms_px, cells=CORNERS)),
        Figure(
            "lateral_colour",
            "lateral colour",
            partial(blur.colour_px, cells=CORNERS),
            "px",
            meaning="by how much red lands outside blue in the corners",
        ),
        Figure("stray_share", "stray light share", blur.stray_share, "%", better=-1),
    )
}
