"""photonsim beside a whole-array NumPy tracer and a ray-intersection engine, on the same lamps."""

from __future__ import annotations

import time
from typing import Any

from benchmarks.event_counts import events_by_kind, hits_per_history
from benchmarks.findings import Claim, Findings, table
from benchmarks.ray_engine import QUERIES, RayEngine
from benchmarks.timing import Rate, taking_turns, tell
from benchmarks.tracing import TimedTracing, all_threads, shipped_scene
from benchmarks.whole_arrays import ArrayLamp
from photonsim.engine import sample_paths
from photonsim.scene import Scene

LAMPS = ("d_split_film", "a_bars")
ARRAY_CHUNKS = (10_000, 30_000, 100_000, 300_000, 1_000_000)
REPLAYED = 20_000
# Asked of the split-film lamp.
TIMES_ARRAYS = 40.0


class TimedArrays:
    """Runs of the array tracer, with the chunk that goes fastest."""

    def __init__(self, scene: Scene, seconds: float) -> None:
        self.lamp, self.runs = ArrayLamp(scene), 0
        self.lamp.trace(1_000, 1, 1_000)
        chunks = [n for n in ARRAY_CHUNKS if n <= 1_000_000 * seconds] or [ARRAY_CHUNKS[0]]
        self.chunk = max(chunks, key=lambda n: max(self._rate(n, n) for _ in range(2)))
        rate = self._rate(self.chunk, self.chunk)
        self.photons = self.chunk * max(1, int(rate * seconds / self.chunk))

    def __call__(self) -> float:
        """Trace once more and return histories a second."""
        return self._rate(self.photons, self.chunk)

    def _rate(self, photons: int, chunk: int) -> float:
        self.runs += 1
        start = time.perf_counter()
        self.lamp.trace(photons, self.runs, chunk)
        return photons / (time.perf_counter() - start)


def compare(seconds: float) -> Findings:
    """Measure all three on two lamps, taking turns."""
    findings = Findings("Beside others")
    for stem in LAMPS:
        tell(f"others: {stem}")
        _compare_on(stem, seconds, findings)
    return findings


def _compare_on(stem: str, seconds: float, findings: Findings) -> None:
    scene, threads = shipped_scene(stem), all_threads()
    paths = sample_paths(scene, REPLAYED)
    kinds = events_by_kind(scene, paths)
    hits = hits_per_history(kinds)
    one, every = (TimedTracing(scene, n, seconds) for n in (1, threads))
    arrays = TimedArrays(scene, seconds)
    measures: dict[str, Any] = {"one": one, "all": every, "arrays": arrays}
    engine, missing = _engine(scene, paths)
    chunks = {}
    if engine is not None:
        for query in QUERIES:
            chunks[query] = engine.best_chunk(query)
            measures[query] = _sending(engine, query, chunks[query], seconds)
    found = taking_turns(measures)
    events = one.events_per_photon
    against_arrays = TIMES_ARRAYS if stem == LAMPS[0] else None
    first = found["one"].best
    findings.claims += [
        Claim(
            f"{stem}: {threads} threads of ours / NumPy tracer, histories",
            found["all"].best / found["arrays"].best,
            against_arrays,
        ),
        Claim(f"{stem}: 1 thread of ours / NumPy tracer", first / found["arrays"].best),
    ]
    if engine is not None:
        hit, answered = (found[query].best for query in QUERIES)
        findings.claims += [
            Claim(f"{stem}: our events / ray engine's hits, 1 thread", first * events / hit, 1.0),
            Claim(f"{stem}: our events that hit / its hits", first * hits / hit),
            Claim(f"{stem}: our events / its rays told yes or no", first * events / answered),
        ]
    rows = [
        _row("photonsim, 1 thread", found["one"], events),
        _row(f"photonsim, {threads} threads", found["all"], events),
        _row(f"NumPy arrays of {arrays.chunk:,}", found["arrays"], events),
    ]
    rows += [_row(f"ray engine, {q}", found[q], None) for q in chunks]
    findings.tables.append(
        f"{stem}: {events:.2f} events a history, {hits:.2f} of them hits"
        f"{missing}\n" + table(("", "M histories/s", "M events or hits/s", "spread"), rows)
    )
    findings.data[stem] = {
        "events_per_history": events,
        "hits_per_history": hits,
        "rates_per_second": {name: rate._asdict() for name, rate in found.items()},
        "array_chunk": arrays.chunk,
        "ray_chunks": chunks,
        "share_of_rays_that_hit": engine.share_hit if engine else None,
    }


def _engine(scene: Scene, paths: Any) -> tuple[RayEngine | None, str]:
    try:
        return RayEngine(scene, paths), ""
    except ImportError:
        return None, '; no ray engine: pip install "photonsim[benchmark]"'


def _sending(engine: RayEngine, query: str, chunk: int, seconds: float) -> Any:
    return lambda: engine.rate(query, chunk, seconds)


def _row(name: str, rate: Rate, events: float | None) -> tuple[str, str, str, str]:
    histories = "" if events is None else f"{rate.best / 1e6:.2f}"
    met = rate.times((events or 1.0) / 1e6)
    return name, histories, f"{met.best:.1f}", f"{100 * rate.spread:.0f} %"
