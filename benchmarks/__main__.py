"""`python -m benchmarks`: histories and events per second on every shipped scene."""

from __future__ import annotations

import os
import platform
import time
from pathlib import Path

import photonsim
from photonsim.engine import trace

SCENES = Path(__file__).parent.parent / "scenes"
SECONDS = 2.0
REPEATS = 3


def best_rate(scene: photonsim.Scene, threads: int) -> tuple[float, float]:
    """Return (histories, events) per second, the best of a few runs of a known count."""
    trial = trace(scene, photons=200_000, threads=threads)
    count = int(200_000 * SECONDS / trial.run.seconds["trace"])
    best = 0.0
    for _ in range(REPEATS):
        run = trace(scene, photons=count, threads=threads)
        best = max(best, count / run.run.seconds["trace"])
    return best, best * trial.events_per_photon


def main() -> None:
    """Print a table; machine first, since a rate means nothing without it."""
    threads = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    print(f"{platform.platform()}, {platform.machine()}, Python {platform.python_version()}")
    print(f"{'scene':<18}{'1 thread':>24}{f'{threads} threads':>24}{'ratio':>8}")
    print(f"{'':<18}{'M histories/s':>14}{'M events/s':>10}{'M histories/s':>14}{'M events/s':>10}")
    start = time.perf_counter()
    for path in sorted(SCENES.glob("*.toml")):
        scene = photonsim.load_scene(path)
        one, one_events = best_rate(scene, 1)
        all_, all_events = best_rate(scene, threads or 1)
        print(
            f"{path.stem:<18}{one / 1e6:>14.2f}{one_events / 1e6:>10.1f}"
            f"{all_ / 1e6:>14.2f}{all_events / 1e6:>10.1f}{all_ / one:>8.2f}",
            flush=True,
        )
    print(f"{time.perf_counter() - start:.0f} s in all")


if __name__ == "__main__":
    main()
