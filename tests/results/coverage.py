"""Are printed figures as sure as they say? Many seeds of one lamp, held against their sum.

    python -m tests.results.coverage [--seeds 400] [--photons 131072 1048576] [--lamps d f h dim]

prints, of each figure of each lamp: the truth, which is the figure of all seeds' photons together
unless it has an own way to it; the mean over the seeds; their bias in stated errors; the stated
error over the scatter. A figure that a run of so few photons withholds is said to be withheld.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.engine import trace
from photonsim.results import MAPS, Estimate, Result, Tallies
from photonsim.scene import Scene
from tests import shipped
from tests.chance import FEWEST_BATCHES, assert_coverage

Reals = NDArray[np.float64]
Printed = Callable[[Result], Estimate]


def _merit(name: str) -> Printed:
    return lambda result: result.estimate(name)


SUMS = ("collected_fraction", "near_axis_fraction", "acceptance", "spread_deg", "blur")
EXTREMES = (
    "darkest_edge",
    "incident_darkest_edge",
    "evenness",
    "evenness_max",
    "deviation_13",
    "incident_evenness",
    "incident_evenness_max",
    "incident_deviation_13",
    "structure",
    "incident_structure",
    "half_intensity_x_deg",
    "half_intensity_y_deg",
    "variation",
    "incident_variation",
)
# Every figure that can be looked at, by name.
FIGURES: dict[str, Printed] = {name: _merit(name) for name in (*SUMS, *EXTREMES)}


def dim_lamp() -> Scene:
    """A lamp of our own of which an f/8 objective takes next to nothing: wide bars behind opal."""
    return shipped.scene(
        "b",
        bars="height_mm = 3.5 => height_mm = 12.0",
        sheet="haze = 0.85 => opal = true",
        hole="diameter_mm = 40.0 => diameter_mm = 22.0",
    )


LAMPS: dict[str, Callable[[], Scene]] = {
    "d": lambda: shipped.scene("d"),
    "f": lambda: shipped.scene("f"),
    "h": lambda: shipped.scene("h"),
    "dim": dim_lamp,
}


class Coverage(NamedTuple):
    """One figure over many seeds: values and stated errors [n] of those that gave it, and truth."""

    name: str
    values: Reals
    errors: Reals
    truth: Estimate
    seeds: int

    @property
    def is_withheld(self) -> bool:
        """Whether too few seeds gave the figure with an error to be judged."""
        return len(self.values) < FEWEST_BATCHES

    @property
    def stated(self) -> float:
        """The stated error: the root of the mean of its square."""
        return float(np.sqrt(np.mean(self.errors**2)))

    @property
    def bias(self) -> float:
        """The mean over the seeds less the truth, in stated errors."""
        return float((self.values.mean() - self.truth.value) / self.stated)

    @property
    def ratio(self) -> float:
        """The stated error over the scatter."""
        return float(self.stated / self.values.std(ddof=1))

    def judge(self, odds: float) -> None:
        """Raise AssertionError where bias or ratio are out of limits, but for chance."""
        if not self.is_withheld:
            assert_coverage(
                self.values,
                self.errors,
                self.truth.value,
                known_to=self.truth.error,
                odds=odds,
                what=self.name,
            )


class Pool:
    """Runs of one scene added up; every run becomes a batch of the sum."""

    def __init__(self) -> None:
        self.batches: dict[str, list[NDArray[np.int64]]] = {}
        self.maps: dict[str, NDArray[np.int64]] = {}

    def add(self, result: Result) -> None:
        """Add a run with as many photons as those before."""
        self.last = result
        for name, array in result.tallies.batches.items():
            self.batches.setdefault(name, []).append(array.sum(axis=0))
        for name in MAPS:
            self.maps[name] = self.maps.get(name, 0) + getattr(result.tallies, name)

    def joined(self) -> Result:
        """Return all runs as one."""
        photons = self.last.photons
        batches = {name: np.stack(arrays) for name, arrays in self.batches.items()}
        runs = len(batches["incident"])
        tallies = Tallies(runs * photons, photons, batches, **self.maps)
        return replace(self.last, tallies=tallies)


def covered(
    scene: Scene, photons: int, seeds: int, figures: Mapping[str, Printed], threads: int = 2
) -> list[Coverage]:
    """Return how sure each figure is over `seeds` runs of a scene with `photons` each.

    The truth is the figure of all photons together. What the mean of the seeds strays from that by
    chance is no more than the mean's own error, since the two share their photons.
    """
    found: dict[str, list[Estimate]] = {name: [] for name in figures}
    pool = Pool()
    for seed in range(1, seeds + 1):
        result = trace(scene, photons, seed, threads=threads)
        pool.add(result)
        for name, figure in figures.items():
            found[name].append(figure(result))
    everything = pool.joined()
    return [_coverage(name, found[name], figure(everything)) for name, figure in figures.items()]


def _coverage(name: str, found: list[Estimate], truth: Estimate) -> Coverage:
    pairs = np.array([(one.value, one.error) for one in found])
    known = np.isfinite(pairs).all(axis=1)
    return Coverage(name, pairs[known, 0], pairs[known, 1], truth, len(found))


def row(one: Coverage) -> str:
    """Return a line of the table."""
    head = f"{one.name:28} {one.truth.text():>22}"
    if one.is_withheld:
        return f"{head}  withheld by {one.seeds - len(one.values)} of {one.seeds} runs"
    given = "" if len(one.values) == one.seeds else f"  given by {len(one.values)}/{one.seeds}"
    noise = one.values.std(ddof=1) / math.sqrt(len(one.values)) / one.stated
    return (
        f"{head} {one.values.mean():10.5g} ± {one.stated:<9.2g} {one.bias:+6.2f} ± {noise:.2f} "
        f"{one.ratio:6.2f}{given}"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seeds", type=int, default=400)
    parser.add_argument("--photons", type=int, nargs="+", default=[1 << 17, 1 << 20])
    parser.add_argument("--lamps", nargs="+", choices=LAMPS, default=list(LAMPS))
    parser.add_argument("--figures", nargs="+", choices=FIGURES, default=list(FIGURES))
    parser.add_argument("--threads", type=int, default=1)
    asked = parser.parse_args()
    figures = {name: FIGURES[name] for name in asked.figures}
    for lamp in asked.lamps:
        for photons in asked.photons:
            print(f"\n{lamp}, {asked.seeds} seeds of {photons:,} photons")
            print(
                f"{'figure':28} {'truth':>22} {'mean ± stated error':>22} {'bias/stated':>14} "
                f"{'stated/scatter':>6}",
                flush=True,
            )
            for one in covered(LAMPS[lamp](), photons, asked.seeds, figures, asked.threads):
                print(row(one), flush=True)


if __name__ == "__main__":
    main()
