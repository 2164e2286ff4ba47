"""What a search is for: goals, limits and bounds, and whether a traced design meets them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from photonsim.results import FIGURES, ResultError, figure_named
from photonsim.scene import Scene, is_whole
from photonsim.studies.journal import Record
from photonsim.studies.points import estimate_in

# No number of a lamp is larger, and beyond some 1e18 whole numbers are none to a computer.
LARGEST = 1e12
# What no lamp comes near: the violation of a design that can't be built or has no such figure.
HOPELESS = 1e6


@dataclass(frozen=True)
class Goal:
    """A figure of merit to have most of (sense +1) or least of (-1)."""

    figure: str
    sense: int

    def __post_init__(self) -> None:
        object.__setattr__(self, "figure", figure_named(self.figure).name)

    def gain(self, record: Record) -> float:
        """Return the figure with its sign such that more is better."""
        return self.sense * estimate_in(record, self.figure).value

    def words(self) -> str:
        """Return the goal in words."""
        return f"{'most' if self.sense > 0 else 'least'} {self.figure}"


@dataclass(frozen=True)
class Limit:
    """A figure of merit that must be at least (sense +1) or at most (-1) `value`.

    The value is in the unit that tables print: 2 for a structure of 2 %.
    """

    figure: str
    sense: int
    value: float

    def __post_init__(self) -> None:
        object.__setattr__(self, "figure", figure_named(self.figure).name)
        if not abs(self.value) <= LARGEST:
            raise ResultError(
                f"{self.figure}: the limit {self.value:g} must be a finite number up to {LARGEST:g}"
            )

    @property
    def bare_value(self) -> float:
        """The value without the scale of its unit: 0.02 for 2 %."""
        return self.value / FIGURES[self.figure].scale

    def violation(self, record: Record, errors: float = 1.0) -> float:
        """Return how far a design lies beyond the limit as a share of it; 0 or less if within.

        A design has to be within by so many standard errors, lest luck carry it over.
        """
        estimate = estimate_in(record, self.figure)
        scale = FIGURES[self.figure].scale
        # Where no reserve is asked for, an error that nobody knows does not matter.
        reserve = errors * estimate.error * scale if errors else 0.0
        short = self.sense * (self.value - estimate.value * scale) + reserve
        return short / (abs(self.value) or 1.0) if math.isfinite(short) else HOPELESS

    def words(self) -> str:
        """Return the limit in words."""
        unit = FIGURES[self.figure].unit
        least = "at least" if self.sense > 0 else "at most"
        return f"{self.figure} {least} {self.value:g}{' ' + unit if unit else ''}"


@dataclass(frozen=True)
class Bound:
    """The range in which a number of the scene may be chosen; its values are steps apart."""

    path: str
    low: float
    high: float
    whole: bool

    def __post_init__(self) -> None:
        refuse_huge(self.path, self.low, self.high)
        if not self.low < self.high:
            raise ResultError(f"{self.path}: the range from {self.low:g} to {self.high:g} is empty")

    @property
    def places(self) -> int:
        """Decimal places of values: steps of 1/32 to 1/316 of the range, 0.1 mm in 12 mm.

        Finer steps are beyond a maker's saw, and 11.37 would claim that they matter.
        """
        return max(0, math.ceil(1.5 - math.log10(self.high - self.low)))

    def rounded(self, value: float) -> float:
        """Return a value as it goes into the scene."""
        return int(value) if self.whole else round(value, self.places)


def bounds_of(scene: Scene, ranges: Sequence[tuple[str, float, float]]) -> list[Bound]:
    """Return bounds for ranges (path, low, high). Raises SceneError for an unknown path."""
    return [Bound(path, low, high, is_whole(scene, path)) for path, low, high in ranges]


def within(record: Record, limits: Sequence[Limit]) -> bool:
    """Tell whether a design can be built and meets all limits."""
    return "impossible" not in record and all(limit.violation(record) <= 0.0 for limit in limits)


def violations(record: Record, limits: Sequence[Limit]) -> list[float]:
    """Return how far off a design is: as such (0 if it can be built), then by each limit."""
    if "impossible" in record:
        return [HOPELESS] * (1 + len(limits))
    return [0.0, *(limit.violation(record) for limit in limits)]


def front_of(
    records: Sequence[Record], goals: Sequence[Goal], limits: Sequence[Limit]
) -> list[int]:
    """Return the places of the designs within limits that no other one beats in every goal."""
    gains = {
        place: [goal.gain(record) for goal in goals]
        for place, record in enumerate(records)
        if within(record, limits) and all(math.isfinite(goal.gain(record)) for goal in goals)
    }
    return [
        place
        for place, mine in gains.items()
        if not any(
            all(a >= b for a, b in zip(theirs, mine, strict=True)) and theirs != mine
            for theirs in gains.values()
        )
    ]


def refuse_huge(path: str, *numbers: float) -> None:
    """Raise ResultError for numbers that no lamp has, infinity and nan among them."""
    for number in numbers:
        if not abs(number) <= LARGEST:
            raise ResultError(f"{path}: {number:g} makes no sense; up to {LARGEST:g} is possible")


def refuse_twice(names: Iterable[str]) -> None:
    """Raise ResultError where something is named twice: which of the two would hold?"""
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise ResultError(f"{name}: is named twice; give it once")
        seen.add(name)


def refuse_contradictions(limits: Sequence[Limit]) -> None:
    """Raise ResultError where limits are given twice, or no design could be within them."""
    refuse_twice(
        f"{limit.figure} {'at least' if limit.sense > 0 else 'at most'}" for limit in limits
    )
    highest = {limit.figure: limit.value for limit in limits if limit.sense < 0}
    for limit in limits:
        if limit.sense > 0 and limit.value > highest.get(limit.figure, math.inf):
            raise ResultError(
                f"{limit.figure}: at least {limit.value:g} and at most "
                f"{highest[limit.figure]:g} cannot both be"
            )
