"""Where the time goes on the CPU: what an event of each kind costs, from lamps that differ in them.

The kernel is one compiled function, so no profiler sees its parts. But a history's time is a sum
over its events: with the events counted (event_counts) and the time taken on many lamps
(profile_scenes), the cost of each kind is what fits them all, by least squares without negative
costs. A cost holds for the mix of lamps; how well the sum meets the split-film lamp's own time
tells how far it can be trusted.
"""

from __future__ import annotations

import time
from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from benchmarks.event_counts import EMISSION, END, WALL, events_by_kind
from benchmarks.findings import Claim, Findings, table
from benchmarks.profile_scenes import lamps
from benchmarks.timing import taking_turns, tell
from photonsim.engine import sample_paths
from photonsim.engine.workers import workers_of
from photonsim.program import Compiled
from photonsim.scene import Scene

# Kinds that share a line: they run the same code.
GROUPS = {
    "emission, and the count of a history": (EMISSION,),
    "wall": (WALL,),
    "base, emitter face, frame": ("base", "emitter face", "panel's frame"),
    "film": ("film",),
    # The processor guesses which it will be; at a coin's toss it is wrong every other time.
    "strips: film or gap, when that is chance": ("chance",),
    "planes passed through": (
        "gap in the film",
        "between emitters",
        "beside the panel",
        "housing's mouth",
    ),
    "panel's pixels, and their counts": ("panel's pixels",),
    "ideal lens": ("ideal lens",),
    "face of a real lens": ("face of a lens",),
    "aperture stop": ("aperture stop",),
    "end of the train, collected counts": (END,),
    "screen, landing counts": ("landing",),
}
REPLAYED = 10_000
REPEATS = 7
TRIAL = 20_000
# All histories in one batch.
ONE_BATCH = 40


def profile(seconds: float, replayed: int = REPLAYED, repeats: int = REPEATS) -> Findings:
    """Fit the cost of each kind of event and share out the split-film lamp's time."""
    names, timed, counts = [], {}, []
    for name, scene in lamps():
        tell(f"profile: {name}")
        names.append(name)
        timed[name] = TimedWorker(scene, 0.2 * seconds)
        counts.append(grouped(scene, events_by_kind(scene, sample_paths(scene, replayed))))
    tell("profile: timing")
    rates = taking_turns(timed, repeats)
    times = np.array([1e9 / rates[name].best for name in names])
    costs = fitted(np.array(counts), times)
    sums = np.array(counts) @ costs
    findings = Findings("Where the time goes on the split-film lamp, one thread")
    findings.claims.append(
        Claim("profile: sum of costs / time measured on the split-film lamp", sums[0] / times[0])
    )
    rows = [
        (
            kind,
            f"{count:.3f}",
            f"{cost:.1f}",
            f"{count * cost:.1f}",
            f"{100 * count * cost / sums[0]:.0f} %",
        )
        for kind, count, cost in zip(GROUPS, counts[0], costs, strict=True)
    ]
    rows.append(("sum", "", "", f"{sums[0]:.1f}", "100 %"))
    rows.append(("measured", "", "", f"{times[0]:.1f}", ""))
    head = ("kind of event", "a history", "ns each", "ns a history", "share")
    findings.tables.append(table(head, rows))
    checks = [
        (name, f"{measured:.1f}", f"{fit:.1f}", f"{100 * (fit / measured - 1):+.0f} %")
        for name, measured, fit in zip(names, times, sums, strict=True)
    ]
    findings.tables.append(table(("lamp", "ns a history", "by the fit", "off by"), checks))
    findings.data = {
        "nanoseconds_each": dict(zip(GROUPS, costs.tolist(), strict=True)),
        "events_a_history": dict(zip(GROUPS, counts[0], strict=True)),
        "lamps": {
            name: {"nanoseconds": measured, "fitted": fit}
            for name, measured, fit in zip(names, times.tolist(), sums.tolist(), strict=True)
        },
    }
    return findings


class TimedWorker:
    """Runs of one thread's worker, each about `seconds` long, in processor time.

    Processor time of this thread alone: what others take of a busy machine does not count.
    """

    def __init__(self, scene: Scene, seconds: float) -> None:
        compiled = Compiled(scene)
        self.worker = workers_of(compiled, 1, "cpu", "double", threads=1).workers[0]
        self.rows = np.zeros((1, compiled.row_width), np.int64)
        self.photons = TRIAL
        self()
        self.photons = max(TRIAL, int(self() * seconds))

    def __call__(self) -> float:
        """Trace once more and return histories a second of processor time."""
        begin = time.thread_time()
        self.worker.trace(0, self.photons, ONE_BATCH, self.rows)
        return self.photons / (time.thread_time() - begin)


def grouped(scene: Scene, events: Mapping[str, float]) -> list[float]:
    """Return events a history by group.

    With a screen, all that is collected lands there too. Strips add a toss for every photon that
    might as well have met the other of film and gap.
    """
    counts = dict(events)
    if scene.screen is not None:
        counts["landing"] = counts.get(END, 0.0)
    counts["chance"] = 2.0 * min(counts.get("film", 0.0), counts.get("gap in the film", 0.0))
    return [sum(counts.get(kind, 0.0) for kind in kinds) for kinds in GROUPS.values()]


def fitted(counts: NDArray[np.float64], times: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return costs [kinds] ≥ 0 that fit times [lamps] = counts [lamps, kinds] @ costs.

    Deviations count relative to each lamp's time.
    """
    costs, _ = nnls(counts / times[:, None], np.ones(len(times)))
    return np.asarray(costs)
