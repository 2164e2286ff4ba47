"""Graphics processors: rates in large launches, agreement with the CPU, and a map of 10¹¹ photons.

All on the split-film scene. For more than one GPU the rate of the first alone is measured in a
process that sees no other.
"""

from __future__ import annotations

import importlib.metadata
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from benchmarks.findings import Claim, Findings, table
from benchmarks.timing import Rate, taking_turns, tell
from benchmarks.tracing import TimedTracing, all_threads, shipped_scene
from photonsim.engine import trace
from photonsim.engine.cuda import PRECISIONS, graphics_processors
from photonsim.engine.workers import Tracer, workers_of
from photonsim.kernel.tallies import ROW_FATES
from photonsim.program import Compiled
from photonsim.scene import Scene

SCENE = "d_split_film"
SEED = 1
# Asked of an H100, in histories a second.
ASKED = {"single": 8.0e9, "double": 1.5e9}
MAP_PHOTONS = 10**11
MAP_SECONDS = 30.0
REPEATS = 3
# A launch that a GPU needs milliseconds for; longer ones follow from its time.
TRIAL = 1 << 22
# Histories compared one by one: every one takes a row of tallies, 33 kB on either side.
COMPARED = 100_000
COMPARED_AT_ONCE = 2_048


def gpu(
    seconds: float, long: bool = False, trial: int = TRIAL, compared: int = COMPARED
) -> Findings:
    """Measure all GPUs of this machine. Raises ResultError where there are none."""
    found = graphics_processors()
    scene = shipped_scene(SCENE)
    findings = Findings(f"GPU: {len(found)} × {_name(found[0])}")
    findings.data["processors"] = [_name(processor) for processor in found]
    findings.data["numba_cuda"] = _version("numba-cuda")
    rates = {}
    for precision in PRECISIONS:
        tell(f"gpu: {precision} precision")
        timed = TimedGpu(scene, precision, seconds, trial)
        rates[precision] = taking_turns({precision: timed}, REPEATS)[precision]
    tell("gpu: the processor beside it")
    beside = TimedTracing(scene, all_threads(), min(seconds, 1.0))
    every = taking_turns({"cpu": beside}, REPEATS)["cpu"]
    _print_rates(findings, rates, every, len(found))
    if len(found) > 1:
        tell("gpu: one of them alone")
        alone = _alone(seconds, trial)
        findings.data["first_alone_per_second"] = alone
        findings.claims.append(
            Claim(f"{len(found)} GPUs / 1 GPU, single precision", rates["single"].best / alone)
        )
    for precision in PRECISIONS:
        tell(f"gpu: fates in {precision} precision")
        share = share_that_agrees(scene, precision, compared)
        findings.data[f"share_that_agrees_{precision}"] = share
        label = f"histories that end otherwise than on the CPU, {precision} precision"
        findings.claims.append(Claim(label, 1e6 * (1.0 - share), unit="in a million"))
    if long:
        tell(f"gpu: {MAP_PHOTONS:.0e} photons, saved")
        _map(scene, MAP_PHOTONS, findings)
    return findings


class TimedGpu:
    """Runs on all GPUs in one precision, each about `seconds` long and with a seed of its own."""

    def __init__(self, scene: Scene, precision: str, seconds: float, trial: int) -> None:
        self.scene, self.precision, self.photons, self.seed = scene, precision, trial, SEED
        self()
        while (spent := self.photons / self()) < 0.5 * seconds:
            self.photons = int(self.photons * min(16.0, seconds / spent))

    def __call__(self) -> float:
        """Trace once more and return histories a second, tallies fetched."""
        self.seed += 1
        run = trace(
            self.scene,
            photons=self.photons,
            seed=self.seed,
            device="cuda",
            precision=self.precision,
        )
        return run.photons / run.run.seconds["trace"]


def share_that_agrees(scene: Scene, precision: str, histories: int) -> float:
    """Return the share of histories that end in the same way on the CPU and on the first GPU."""
    compiled = Compiled(scene)
    cpu = workers_of(compiled, SEED, "cpu", precision, threads=1).workers[0]
    other = workers_of(compiled, SEED, "cuda", precision).workers[0]
    agreeing = 0
    for first in range(0, histories, COMPARED_AT_ONCE):
        count = min(COMPARED_AT_ONCE, histories - first)
        ours, theirs = (_fates(worker, first, count, compiled.row_width) for worker in (cpu, other))
        agreeing += int((ours == theirs).sum())
    return agreeing / histories


def _fates(worker: Tracer, first: int, count: int, width: int) -> NDArray[np.intp]:
    """Return the fate codes of histories: in batches of one each, what a row counts is its own."""
    rows = np.zeros((count, width), np.int64)
    worker.trace(first, count, 0, rows)
    return np.asarray(rows[:, ROW_FATES:].argmax(axis=1))


def _map(scene: Scene, photons: int, findings: Findings) -> None:
    """Trace a map at the panel's own resolution, save it, and say how long all of it took."""
    with tempfile.TemporaryDirectory() as folder:
        begin = time.perf_counter()
        result = trace(scene, photons=photons, device="cuda", save_to=Path(folder) / "map.h5")
        spent = time.perf_counter() - begin
    median = float(np.median(result.panel_counts("collected")))
    error = 100.0 / max(median, 1.0) ** 0.5
    findings.claims += [
        Claim(f"{photons:.0e} photons, saved", spent, MAP_SECONDS, "s", least=False),
        Claim("error of the median pixel of that map", error, 1.0, "%", least=False),
    ]
    findings.data["map"] = {"photons": photons, "seconds": spent, "error_percent": error}


def _print_rates(findings: Findings, rates: dict[str, Rate], every: Rate, count: int) -> None:
    threads = all_threads()
    findings.claims.append(
        Claim(f"GPU in single precision / {threads} threads", rates["single"].best / every.best)
    )
    rows = [(f"CPU, {threads} threads", f"{every.best / 1e6:,.1f}", f"{100 * every.spread:.0f} %")]
    for precision, rate in rates.items():
        findings.claims.append(
            Claim(
                f"GPU, {precision} precision: histories a second and GPU",
                rate.best / count / 1e9,
                ASKED[precision] / 1e9,
                "billion",
            )
        )
        rows.append((f"GPU, {precision}", f"{rate.best / 1e6:,.1f}", f"{100 * rate.spread:.0f} %"))
    findings.tables.append(table((SCENE, "M histories/s", "spread"), rows))
    findings.data["rates_per_second"] = {
        "cpu": every._asdict(),
        **{precision: rate._asdict() for precision, rate in rates.items()},
    }


def _alone(seconds: float, trial: int) -> float:
    """Return histories a second, single precision, of the first GPU in a process of its own."""
    first = os.environ.get("CUDA_VISIBLE_DEVICES", "0").split(",")[0]
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.gpu", str(seconds), str(trial)],
        env=os.environ | {"CUDA_VISIBLE_DEVICES": first},
        check=True,
        capture_output=True,
        text=True,
    )
    return float(json.loads(done.stdout.splitlines()[-1]))


def _name(processor: Any) -> str:
    name = getattr(processor, "name", "GPU")
    return name.decode() if isinstance(name, bytes) else str(name)


def _version(package: str) -> str | None:
    try:
        return importlib.metadata.version(package)
    except importlib.metadata.PackageNotFoundError:
        return None


def main() -> None:
    """Print the rate of the GPUs that this process sees: what `_alone` runs."""
    seconds, trial = float(sys.argv[1]), int(sys.argv[2])
    timed = TimedGpu(shipped_scene(SCENE), "single", seconds, trial)
    print(json.dumps(taking_turns({"alone": timed}, REPEATS)["alone"].best))


if __name__ == "__main__":
    main()
