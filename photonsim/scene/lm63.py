"""Measured intensity tables from IES LM-63 files: read, checked, made whole, integrated.

LM-63 in its forms of 1986, 1991, 1995, 2002 and 2019, type C photometry, TILT=NONE. The vertical
angle counts from the luminaire's axis, the horizontal one around it.
"""

from __future__ import annotations

import itertools
import re
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from photonsim.arrays import Reals

FORMS = {
    "IESNA91": "1991",
    "IESNA:LM-63-1995": "1995",
    "IESNA:LM-63-2002": "2002",
    "IES:LM-63-2019": "2019",
}
TYPE_C = 1
OTHER_TYPES = {2: "B", 3: "A"}
# The horizontal angles that planes may begin and end with, and how often the others repeat them.
ENDS = ((0.0, 0.0), (0.0, 90.0), (0.0, 180.0), (0.0, 360.0), (90.0, 270.0))
MOST_ANGLES = 721  # every half degree and both ends
# No lamp is brighter, and no goniometer finer: beyond, sums overflow.
LARGEST = 1e12
FINEST_DEG = 1e-6
_SEPARATOR = re.compile(r"[\s,]+")


class Lm63Error(ValueError):
    """What is wrong with an LM-63 text, in one sentence, with its line where it has one."""


@dataclass(frozen=True, eq=False)
class IntensityTable:
    """Intensity in candela over angles in degrees, symmetric planes expanded.

    `vertical_deg` [n] rises from the axis; `horizontal_deg` [m] rises from 0 to 360, both
    included; `candela` is [m, n]. `claimed_lm` is None for absolute photometry, which claims none.
    """

    form: str
    labels: tuple[str, ...]
    vertical_deg: Reals
    horizontal_deg: Reals
    candela: Reals
    claimed_lm: float | None
    input_watts: float

    @property
    def flux_lm(self) -> float:
        """Luminous flux in lumens of the whole table: intensity over the solid angle."""
        return float(zone_flux(self.vertical_deg, self.horizontal_deg, self.candela).sum())

    def at(self, vertical_deg: Reals, horizontal_deg: Reals) -> Reals:
        """Intensity in candela, [m, n], on a grid of angles; linear between those of the file."""
        polar = np.array(
            [
                np.interp(vertical_deg, self.vertical_deg, plane, left=0.0, right=0.0)
                for plane in self.candela
            ]
        )
        place = np.interp(horizontal_deg, self.horizontal_deg, np.arange(len(polar)))
        low = np.minimum(place.astype(int), len(polar) - 2)
        share = (place - low)[:, None]
        return (1.0 - share) * polar[low] + share * polar[low + 1]

    def flux_within_lm(self, vertical_deg: float) -> float:
        """Luminous flux in lumens within an angle from the axis."""
        inner = self.vertical_deg[self.vertical_deg < vertical_deg]
        edges = np.append(inner, min(vertical_deg, self.vertical_deg[-1]))
        if len(edges) < 2:
            return 0.0
        candela = self.at(edges, self.horizontal_deg)
        return float(zone_flux(edges, self.horizontal_deg, candela).sum())


def zone_flux(vertical_deg: Reals, horizontal_deg: Reals, candela: Reals) -> Reals:
    """Luminous flux in lumens, [m - 1, n - 1], of every cell of a grid of intensities [m, n].

    Exact for intensities that are linear between the grid's angles: over an interval the integral
    of (a + b t) sin t is -(a + b t) cos t + b sin t, and round the axis the trapezium is exact.
    """
    theta, phi = np.radians(vertical_deg), np.radians(horizontal_deg)
    around = 0.5 * (candela[1:] + candela[:-1]) * np.diff(phi)[:, None]
    slope = np.diff(around, axis=1) / np.diff(theta)
    ends = -np.cos(theta) * around
    zones: Reals = np.diff(ends, axis=1) + slope * np.diff(np.sin(theta))
    return zones


@lru_cache(maxsize=8)
def read_lm63(text: str) -> IntensityTable:
    """Read the text of an LM-63 file. Raises Lm63Error with what is wrong and where."""
    if "\0" in text:
        raise Lm63Error("this is no text file, so it can't be an LM-63 file")
    lines = text.splitlines()
    form, labels, tilt_line = _labels(lines)
    numbers = _Numbers(lines, tilt_line + 1)
    lamps = numbers.count("the number of lamps", 1, 100_000)
    lumens = numbers.take("the lumens per lamp")
    multiplier = numbers.positive("the candela multiplier")
    verticals = numbers.count("the number of vertical angles", 2, MOST_ANGLES)
    horizontals = numbers.count("the number of horizontal angles", 1, MOST_ANGLES)
    kind = numbers.count("the photometric type", 1, 3)
    if kind != TYPE_C:
        raise Lm63Error(
            f"line {numbers.line}: the photometry is of type {OTHER_TYPES[kind]}; only type C "
            "can be read"
        )
    numbers.count("the units", 1, 2)
    for side in ("width", "length", "height"):
        numbers.take(f"the luminous {side}")
    factor = numbers.positive("the ballast factor")
    second_factor = numbers.take("the second factor")
    if form in ("1986", "1991"):  # later forms keep the place and give it no meaning
        factor *= second_factor
    watts = numbers.take("the input watts")
    vertical = numbers.rising(verticals, "vertical angle")
    if vertical[0] not in (0.0, 90.0) or vertical[-1] not in (90.0, 180.0):
        raise Lm63Error(
            f"line {numbers.line}: the vertical angles run from {vertical[0]:g}° to "
            f"{vertical[-1]:g}°; type C begins with 0° or 90° and ends with 90° or 180°"
        )
    horizontal = numbers.rising(horizontals, "horizontal angle")
    if (horizontal[0], horizontal[-1]) not in ENDS:
        raise Lm63Error(
            f"line {numbers.line}: the horizontal angles run from {horizontal[0]:g}° to "
            f"{horizontal[-1]:g}°; type C has 0° alone, or 0° to 90°, 180° or 360°, or 90° to 270°"
        )
    values = numbers.candela(horizontals, verticals)
    numbers.end()
    horizontal, values = _expand(horizontal, values * multiplier * factor)
    table = IntensityTable(
        form, labels, vertical, horizontal, values, lamps * lumens if lumens >= 0 else None, watts
    )
    if not table.flux_lm > 0.0:
        raise Lm63Error("all intensities are 0")
    return table


def _labels(lines: list[str]) -> tuple[str, tuple[str, ...], int]:
    """Return the form, the label lines, and the place of the line TILT=NONE."""
    first = lines[0].lstrip("\ufeff").strip() if lines else ""
    form = FORMS.get(first.upper(), "1986")
    if form == "1986" and re.match(r"IES(NA)?(:|\d)", first, re.IGNORECASE):
        known = ", ".join(FORMS)
        raise Lm63Error(f"line 1: {first[:40]!r} is no form that can be read: {known}")
    for place, line in enumerate(lines):
        key, equals, tilt = line.partition("=")
        if key.strip().upper() != "TILT" or not equals:
            continue
        if tilt.strip().upper() != "NONE":
            raise Lm63Error(
                f"line {place + 1}: {line.strip()[:60]!r}: a lamp that dims as it is tilted; "
                "only TILT=NONE can be read"
            )
        begin = 0 if form == "1986" else 1
        return form, tuple(label.strip() for label in lines[begin:place]), place
    raise Lm63Error("there is no line TILT=NONE, so this is no LM-63 file, or it was cut short")


class _Numbers:
    """The numbers after the labels, one by one, each with the line it stands on."""

    def __init__(self, lines: list[str], first: int) -> None:
        self.words = [
            (word, number)
            for number, line in enumerate(lines[first:], first + 1)
            for word in _SEPARATOR.split(line)
            if word
        ]
        self.place = 0
        self.line = first

    def take(self, what: str) -> float:
        if self.place >= len(self.words):
            raise Lm63Error(
                f"the file ends where {what} should stand: it was cut short, or says more angles "
                "than it has"
            )
        word, self.line = self.words[self.place]
        self.place += 1
        try:
            value = float(word)
        except ValueError:
            value = np.nan
        if not abs(value) <= LARGEST or "_" in word:
            raise Lm63Error(f"line {self.line}: {word[:20]!r} is no number; {what} belongs here")
        return value

    def positive(self, what: str) -> float:
        value = self.take(what)
        if value <= 0.0:
            raise Lm63Error(f"line {self.line}: {what} is {value:g}; it must be greater than 0")
        return value

    def count(self, what: str, least: int, most: int) -> int:
        value = self.take(what)
        if value != int(value) or not least <= value <= most:
            raise Lm63Error(
                f"line {self.line}: {what} is {value:g}; it must be a whole number from {least} "
                f"to {most}"
            )
        return int(value)

    def rising(self, count: int, what: str) -> Reals:
        values = [self.take(f"{what} {number}") for number in range(1, count + 1)]
        for number, (before, after) in enumerate(itertools.pairwise(values), 2):
            if after < before + FINEST_DEG:
                raise Lm63Error(
                    f"line {self.line}: {what} {number} is {after:g}° after {before:g}°; the "
                    "angles must rise"
                )
        return np.array(values)

    def candela(self, planes: int, angles: int) -> Reals:
        values = np.array(
            [
                [self.take(f"intensity {k + 1} of plane {plane + 1}") for k in range(angles)]
                for plane in range(planes)
            ]
        )
        if values.min() < 0.0:
            plane, k = np.argwhere(values < 0.0)[0]
            raise Lm63Error(
                f"intensity {k + 1} of plane {plane + 1} is {values[plane, k]:g}; it can't be less "
                "than 0"
            )
        return values

    def end(self) -> None:
        if self.place < len(self.words):
            word, line = self.words[self.place]
            raise Lm63Error(
                f"line {line}: {word[:20]!r} stands after the last intensity: the numbers of "
                "angles at the head don't fit what follows"
            )


def _expand(horizontal: Reals, values: Reals) -> tuple[Reals, Reals]:
    """Return the planes of a whole turn, 0 to 360 degrees, from those that symmetry left out."""
    first, last = horizontal[0], horizontal[-1]
    if last == 0.0:
        return np.array([0.0, 360.0]), np.vstack([values, values])
    if last == 90.0:
        horizontal, values = _mirrored(horizontal, values, 90.0)
        last = 180.0
    if first == 90.0:
        # Symmetric about the plane of 90 and 270 degrees: a whole turn from 90, cut at 360.
        horizontal, values = _mirrored(horizontal, values, 270.0)
        return _from_zero(horizontal[:-1], values[:-1])
    if last == 180.0:
        horizontal, values = _mirrored(horizontal, values, 180.0)
    return horizontal, values


def _mirrored(horizontal: Reals, values: Reals, about: float) -> tuple[Reals, Reals]:
    """Return planes up to `about` degrees with their mirror images beyond it."""
    images = 2.0 * about - horizontal[-2::-1]
    return np.append(horizontal, images), np.vstack([values, values[-2::-1]])


def _from_zero(horizontal: Reals, values: Reals) -> tuple[Reals, Reals]:
    """Return planes of a whole turn that begins at 90 degrees as one from 0 to 360, both given."""
    beyond = horizontal >= 360.0
    turned = np.append(horizontal[beyond] - 360.0, horizontal[~beyond])
    planes = np.vstack([values[beyond], values[~beyond]])
    if turned[0] > 0.0:  # no plane of its own at 0 degrees
        share = turned[0] / (turned[0] + 360.0 - turned[-1])
        zero = (1.0 - share) * planes[0] + share * planes[-1]
        turned, planes = np.append(0.0, turned), np.vstack([zero, planes])
    return np.append(turned, 360.0), np.vstack([planes, planes[:1]])
