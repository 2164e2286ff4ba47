"""What a cluster costs: time per task, and how two worker processes scale against one thread.

    python -m benchmarks.cluster [--workers 2] [--photons 3e7]

Time per task is that of the client and scheduler, both in this process, and is counted in processor
seconds too, so that a busy machine does not blur it.
"""

from __future__ import annotations

import argparse
import time
from functools import partial
from pathlib import Path

from photonsim.engine import trace
from photonsim.engine.cluster import Cluster, trace_on_cluster, trace_piece
from photonsim.program import Compiled
from photonsim.scene import load_scene

SCENE = Path(__file__).parents[1] / "scenes" / "d_split_film.toml"
TASKS = 1000


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--photons", type=float, default=3e7)
    given = parser.parse_args()
    scene, photons = load_scene(SCENE), int(given.photons)
    trace(scene, photons=1000)
    clock = time.perf_counter()
    trace(scene, photons=photons, threads=1)
    alone = time.perf_counter() - clock
    print(f"one thread: {photons / alone / 1e6:.2f} million photons a second")
    with Cluster(f"local:{given.workers}") as cluster:
        list(cluster.run(abs, range(20)))
        clock, used = time.perf_counter(), time.process_time()
        list(cluster.run(abs, range(TASKS)))
        wall, busy = time.perf_counter() - clock, time.process_time() - used
        print(f"empty task: {1e3 * wall / TASKS:.2f} ms, {1e3 * busy / TASKS:.2f} ms of processor")
        compiled = Compiled(scene)
        tiny = [range(256 * k, 256 * (k + 1)) for k in range(100)]
        traced = partial(trace_piece, compiled, 1, 8)
        list(cluster.run(traced, tiny[:20]))
        clock, used = time.perf_counter(), time.process_time()
        list(cluster.run(traced, tiny))
        wall, busy = time.perf_counter() - clock, time.process_time() - used
        print(f"piece of 256 photons: {10 * wall:.1f} ms, {10 * busy:.1f} ms of processor here")
        clock = time.perf_counter()
        trace_on_cluster(scene, photons, 1, cluster)
        shared = time.perf_counter() - clock
        print(
            f"{given.workers} workers: {photons / shared / 1e6:.2f} million photons a second, "
            f"{alone / shared:.2f} times one thread"
        )


if __name__ == "__main__":
    main()
