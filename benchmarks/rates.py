"""Histories and events a second on every shipped scene, and what they are worth.

The figure of merit is 1/(relative variance × time): how many times a second the answer's relative
variance comes down to 1. For the collected fraction the variance is the error that a result states,
from its batches; beside it stands its ratio to p (1 - p)/n, which independent draws would have.
For a pixel it is measured, as half the mean squared difference between two runs with other seeds,
over the pixels of the panel's middle cell (a ninth of its width and height), for collected light.
"""

from __future__ import annotations

import itertools
import math
import statistics
from collections.abc import Sequence

import numpy as np

from benchmarks.findings import Claim, Findings, short, table
from benchmarks.timing import Rate, taking_turns, tell
from benchmarks.tracing import TimedTracing, all_threads, shipped
from photonsim.results import Result
from photonsim.scene import load_scene

SPLIT_FILM = "d_split_film"
PER_CORE = 5.0e6
THREADS_RATIO = 1.85
MIDDLE = 9


def rates(seconds: float, stems: Sequence[str] = ()) -> Findings:
    """Measure the shipped scenes, or those named, on one thread and on all."""
    findings = Findings("Rates on the shipped scenes")
    threads = all_threads()
    rows = []
    for path in shipped():
        if stems and path.stem not in stems:
            continue
        tell(f"rates: {path.stem}")
        scene = load_scene(path)
        one, every = (TimedTracing(scene, n, seconds) for n in (1, threads))
        found = taking_turns({"one": one, "all": every})
        merit = merits(every.runs, found["all"])
        ratio = found["all"].best / found["one"].best
        evenness = variance_over_independent(every.runs)
        rows.append(_row(path.stem, found, one.events_per_photon, merit, evenness))
        findings.data[path.stem] = {
            "histories_per_second": {name: rate._asdict() for name, rate in found.items()},
            "events_per_history": one.events_per_photon,
            "merit_per_second": merit,
            "collected_variance_over_independent": evenness,
        }
        if path.stem == SPLIT_FILM:
            findings.claims = [
                Claim(f"{path.stem}: {threads} threads / 1 thread", ratio, THREADS_RATIO),
                Claim(
                    f"{path.stem}: histories a second and core",
                    found["one"].best / 1e6,
                    PER_CORE / 1e6,
                    "million",
                ),
            ]
    head = (
        "best of 5",
        "1 thread: Mhist/s",
        "Mevents/s",
        "spread",
        f"{threads} threads: Mhist/s",
        "Mevents/s",
        "spread",
        "ratio",
        "merit: collected",
        "pixel",
        "variance / independent",
    )
    findings.tables.append(table(head, rows))
    return findings


def merits(runs: Sequence[Result], rate: Rate) -> dict[str, float]:
    """Return the figures of merit, per second at the best rate, from runs of one length."""
    seconds = runs[0].photons / rate.best
    relative = statistics.mean(
        run.estimate("collected_fraction").relative_error ** 2 for run in runs
    )
    return {
        "collected_fraction": _merit(relative, seconds),
        "pixel": _merit(pixel_variance(runs), seconds),
    }


def variance_over_independent(runs: Sequence[Result]) -> float:
    """Return the variance of the collected fraction over that of independent draws.

    From the batches of five runs, some 500, a variance is known to the root of 2/500, 6 %.
    """
    found = [run.estimate("collected_fraction") for run in runs]
    share = statistics.mean(estimate.value for estimate in found)
    independent = share * (1.0 - share) / runs[0].photons
    if independent == 0.0:
        return math.nan
    return statistics.mean(estimate.error**2 for estimate in found) / independent


def pixel_variance(runs: Sequence[Result]) -> float:
    """Return the relative variance of collected light in a pixel of the panel's middle cell."""
    maps = [_middle(run.panel_counts("collected")).astype(float) for run in runs]
    mean = float(np.mean(maps))
    if mean == 0.0 or len(maps) < 2:
        return math.nan
    pairs = itertools.pairwise(maps)
    return statistics.mean(float(np.mean((a - b) ** 2)) for a, b in pairs) / (2.0 * mean**2)


def _middle(counts: np.ndarray) -> np.ndarray:
    rows, columns = counts.shape
    height, width = max(1, rows // MIDDLE), max(1, columns // MIDDLE)
    low, left = (rows - height) // 2, (columns - width) // 2
    return counts[low : low + height, left : left + width]


def _merit(relative_variance: float, seconds: float) -> float:
    return 1.0 / (relative_variance * seconds) if relative_variance > 0.0 else math.nan


def _row(
    stem: str, found: dict[str, Rate], events: float, merit: dict[str, float], evenness: float
) -> tuple[str, ...]:
    cells = [stem]
    for rate in found.values():
        cells += [
            f"{rate.best / 1e6:.2f}",
            f"{rate.best * events / 1e6:.1f}",
            f"{100 * rate.spread:.0f} %",
        ]
    cells.append(f"{found['all'].best / found['one'].best:.2f}")
    return *cells, *(short(value) for value in merit.values()), f"{evenness:.2f}"
