"""Are printed figures as sure as they say? Many seeds of one lamp, held against their sum.

    python -m tests.results.coverage [--seeds 400] [--first 1] [--photons 131072 1048576]
                                     [--lamps d f h dim] [--processes 16]

traces with one guide for all runs of a lamp, unless --unguided is given, and prints, of each figure
of each lamp: the truth, which is the figure of all seeds' photons together, or, with an asterisk, a
run of another kind (OTHER_WAYS); the mean over the seeds; their bias in stated errors; the stated
error over the scatter. A figure that a run of so few photons withholds is said to be withheld.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import cache, partial
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.engine import trace
from photonsim.engine.pilot import pilot
from photonsim.kernel.allotment import Guide
from photonsim.results import MAPS, Estimate, Result, Tallies, screen_of
from photonsim.results.picture.stop import STOP_RINGS, trade_off
from photonsim.results.picture.zones import zones_of
from photonsim.scene import Scene
from tests import shipped
from tests.chance import FEWEST_BATCHES, assert_coverage, assert_coverage_as_found

Reals = NDArray[np.float64]
Printed = Callable[[Result], Estimate]
# From the name of a lamp and a number of photons.
OtherWay = Callable[[str, int], Estimate]
OTHER_SEED = 1_000_000
# A run of another kind has so many times the photons of one that is judged.
MANY = 32


class Latest:
    """A function of a result that remembers what it gave for the latest one."""

    def __init__(self, function: Callable[[Result], Any]) -> None:
        self.function = function
        self.result: Result | None = None

    def __call__(self, result: Result) -> Any:
        """Return what the function gives."""
        if result is not self.result:
            self.result, self.found = result, self.function(result)
        return self.found


def _merit(name: str) -> Printed:
    return lambda result: result.estimate(name)


SUMS = ("collected_fraction", "near_axis_fraction", "acceptance", "rms_angle_deg", "blur")
EXTREMES = (
    "darkest_edge",
    "incident_darkest_edge",
    "uniformity",
    "uniformity_max",
    "deviation_13",
    "incident_uniformity",
    "incident_uniformity_max",
    "incident_deviation_13",
    "structure",
    "incident_structure",
)
# Not judged: it goes in steps of 2 degrees, and at 2**17 photons its error is up to 1.6 times the
# scatter, its bias 0.4 errors.
ANGLES = ("half_intensity_x_deg", "half_intensity_y_deg")


def _of_zone(zone: str, field: str) -> Printed:
    return lambda result: next(
        getattr(one, field) for one in _zones(result) if one.name.startswith(zone)
    )


_zones = Latest(lambda result: zones_of(screen_of(result)))


def _foretold(ring: int, field: str) -> Printed:
    return lambda result: getattr(_trade_off(result)[ring - STOP_RINGS - 1], field)


_trade_off = Latest(trade_off)


def _smaller_stop(ring: int, field: str) -> OtherWay:
    """Return the way to a foretold figure: the lamp traced with that stop."""
    merit = {"centre_px": "blur_centre", "whole_px": "blur", "corner_px": "blur_corner"}

    def traced(lamp: str, photons: int) -> Estimate:
        small = _traced_with_stop(lamp, photons, ring)
        if field != "light":
            return small.estimate(merit[field])
        return ratio(small, _traced_with_stop(lamp, photons, STOP_RINGS))

    return traced


def ratio(one: Result, other: Result) -> Estimate:
    """Return the collected light of one lamp over that of another that shared its luck.

    The error is that of a ratio of sums over batches by its linear form (Cochran, Sampling
    Techniques, section 2.11: from memory).
    """
    ours, theirs = (r.tallies.batches["collected"].astype(float) for r in (one, other))
    value = ours.sum() / theirs.sum()
    off = ours - value * theirs
    return Estimate(float(value), float(np.sqrt(len(off) * off.var(ddof=1)) / theirs.sum()))


@cache
def _traced_with_stop(lamp: str, photons: int, ring: int) -> Result:
    scene = LAMPS[lamp]()
    diameter = scene.stop.diameter_mm * ring / STOP_RINGS
    changed = scene.with_numbers({"train.stop.diameter_mm": diameter})
    return trace(changed, photons, OTHER_SEED, guide=_guide(lamp))


@cache
def _guide(lamp: str) -> Guide | None:
    """Return one guide for all runs of a lamp, so that they add up and share their luck."""
    return pilot(LAMPS[lamp](), OTHER_SEED)


ZONES = ("middle", "left", "top", "corners")
RINGS, OF_A_RING = (3, 5), ("light", "centre_px", "whole_px", "corner_px")
SPOTS = {f"radius_80 {zone}": _of_zone(zone, "radius_80") for zone in ZONES}
FILLINGS = {f"filled {zone}": _of_zone(zone, "filled") for zone in ZONES}
FORETOLD = {
    f"stop {ring}/8 {field}": _foretold(ring, field) for ring in RINGS for field in OF_A_RING
}
OF_ZONES = {
    f"{field} {zone}": _of_zone(zone, field)
    for field in ("blur", "centroid_shift", "colour", "light")
    for zone in ZONES
}
# Every figure that can be looked at, by name.
FIGURES: dict[str, Printed] = {
    **{name: _merit(name) for name in (*SUMS, *EXTREMES, *ANGLES)},
    **SPOTS,
    **FILLINGS,
    **FORETOLD,
    **OF_ZONES,
}
# Truths that come from a run of another kind than the one that is judged.
OTHER_WAYS: dict[str, OtherWay] = {
    f"stop {ring}/8 {field}": _smaller_stop(ring, field) for ring in RINGS for field in OF_A_RING
}
# Truths that share their luck with the mean of the seeds.
SHARED = FIGURES.keys() - OTHER_WAYS.keys() - set(EXTREMES)


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
    known_to: float
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

    def judge(self, odds: float | None = None) -> None:
        """Raise AssertionError where bias or ratio are out of limits: as found, or but for chance.

        The odds are of a figure that is right; without, the estimates themselves are to be within.
        """
        if self.is_withheld:
            return
        pairs, truth, known_to = (self.values, self.errors), self.truth.value, self.known_to
        if odds is None:
            assert_coverage_as_found(*pairs, truth, known_to=known_to, what=self.name)
        else:
            assert_coverage(*pairs, truth, known_to=known_to, odds=odds, what=self.name)


class Pool:
    """Runs of one scene added up, each a batch of the sum, and the figures of each, by name."""

    def __init__(self, names: Sequence[str]) -> None:
        self.batches: dict[str, list[NDArray[np.int64]]] = {}
        self.maps: dict[str, NDArray[np.int64]] = {}
        self.found: dict[str, list[Estimate]] = {name: [] for name in names}

    def add(self, result: Result) -> None:
        """Add a run with the guide of those before and as many photons."""
        self.last = result
        for name, array in result.tallies.batches.items():
            self.batches.setdefault(name, []).append(array.sum(axis=0))
        for name in MAPS:
            self.maps[name] = self.maps.get(name, 0) + getattr(result.tallies, name)
        for name, found in self.found.items():
            found.append(FIGURES[name](result))

    def join(self, other: Pool) -> None:
        """Add the runs of another."""
        self.last = other.last
        for ours, theirs in ((self.batches, other.batches), (self.found, other.found)):
            for name, values in theirs.items():
                ours[name] = ours.get(name, []) + values
        for name in MAPS:
            self.maps[name] = self.maps.get(name, 0) + other.maps[name]

    def joined(self) -> Result:
        """Return all runs as one."""
        photons = self.last.photons
        batches = {name: np.stack(arrays) for name, arrays in self.batches.items()}
        runs = len(batches["incident"])
        guide = self.last.tallies.guide
        tallies = Tallies(runs * photons, photons, batches, **self.maps, guide=guide)
        return replace(self.last, tallies=tallies)


def covered(
    lamp: str,
    photons: int,
    seeds: range,
    names: Sequence[str],
    many: int = MANY,
    processes: int = 1,
    known: Mapping[str, Estimate] | None = None,
    guided: bool = True,
) -> list[Coverage]:
    """Return how sure each of the named figures is over runs of a lamp, one a seed.

    The truth is that of OTHER_WAYS from `many` times the photons of a run, with its own error, or
    else that which is `known`, or else the figure of all photons together. For what is smooth, the
    mean of the seeds then strays from the truth by chance by no more than the mean's own error,
    since the two share their photons; extremes of the sum are chosen anew, and stray by themselves.
    """
    pool = Pool(names)
    some = partial(_pool, lamp, photons, names, guided)
    if processes == 1:
        pool.join(some(seeds))
    else:
        with ProcessPoolExecutor(processes, multiprocessing.get_context("spawn")) as workers:
            for part in workers.map(some, [seeds[k::processes] for k in range(processes)]):
                pool.join(part)
    everything = pool.joined()
    truths = {name: FIGURES[name](everything) for name in names} | dict(known or {})
    for name in OTHER_WAYS.keys() & set(names):
        truths[name] = OTHER_WAYS[name](lamp, many * photons)
    return [
        _coverage(pool.found[name], truth, name, 0.0 if name in SHARED else truth.error)
        for name, truth in truths.items()
    ]


def _pool(lamp: str, photons: int, names: Sequence[str], guided: bool, seeds: range) -> Pool:
    pool, scene, guide = Pool(names), LAMPS[lamp](), _guide(lamp) if guided else None
    for seed in seeds:
        pool.add(trace(scene, photons, seed, threads=1, guide=guide))
    return pool


def extremes_of(found: list[Coverage]) -> dict[str, Estimate]:
    """Return the truths of the extremes, by which runs of fewer photons are judged better."""
    return {one.name: one.truth for one in found if one.name in EXTREMES}


def _coverage(found: list[Estimate], truth: Estimate, name: str, known_to: float) -> Coverage:
    pairs = np.array([(one.value, one.error) for one in found])
    known = np.isfinite(pairs).all(axis=1)
    return Coverage(name, pairs[known, 0], pairs[known, 1], truth, known_to, len(found))


def row(one: Coverage) -> str:
    """Return a line of the table."""
    mark = "*" if one.name in OTHER_WAYS else " "
    head = f"{one.name:28} {one.truth.text():>22}{mark}"
    if one.is_withheld:
        return f"{head}  withheld by {one.seeds - len(one.values)} of {one.seeds} runs"
    given = "" if len(one.values) == one.seeds else f"  given by {len(one.values)}/{one.seeds}"
    noise = one.values.std(ddof=1) / math.sqrt(len(one.values))
    noise = math.hypot(noise, one.known_to) / one.stated
    return (
        f"{head} {one.values.mean():10.5g} ± {one.stated:<9.2g} {one.bias:+6.2f} ± {noise:.2f} "
        f"{one.ratio:6.2f}{given}"
    )


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seeds", type=int, default=400)
    parser.add_argument("--first", type=int, default=1, help="the first seed")
    parser.add_argument("--photons", type=int, nargs="+", default=[1 << 17, 1 << 20])
    parser.add_argument("--lamps", nargs="+", choices=LAMPS, default=list(LAMPS))
    parser.add_argument("--figures", nargs="+", choices=FIGURES, default=list(FIGURES))
    parser.add_argument("--many", type=int, default=4 * MANY)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--unguided", action="store_true")
    asked = parser.parse_args()
    seeds = range(asked.first, asked.first + asked.seeds)
    for lamp in asked.lamps:
        known: dict[str, Estimate] = {}
        for photons in sorted(asked.photons, reverse=True):
            print(f"\n{lamp}, {asked.seeds} seeds of {photons:,} photons")
            print(
                f"{'figure':28} {'truth':>22} {'mean ± stated error':>22} {'bias/stated':>14} "
                f"{'stated/scatter':>6}",
                flush=True,
            )
            found = covered(
                lamp, photons, seeds, asked.figures, asked.many, asked.processes, known,
                not asked.unguided,
            )  # fmt: skip
            known = known or extremes_of(found)
            for one in found:
                print(row(one), flush=True)


if __name__ == "__main__":
    main()
