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
ALL_RAYS = "INTERSECT, all threads"
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
    scene = shipped_scene(stem)
    paths = sample_paths(scene, REPLAYED)
    hits = hits_per_history(events_by_kind(scene, paths))
    # Histories of one law: none of the others guides its emission.
    one, every = (TimedTracing(scene, n, seconds, "off") for n in (1, all_threads()))
    arrays = TimedArrays(scene, seconds)
    measures: dict[str, Any] = {"one": one, "all": every, "arrays": arrays}
    engine = _engine(scene, paths)
    chunks = {}
    if engine is not None:
        for query in QUERIES:
            chunks[query] = engine.best_chunk(query)
            measures[query] = _sending(engine, 1, query, chunks[query], seconds)
        first = QUERIES[0]
        measures[ALL_RAYS] = _sending(engine, all_threads(), first, chunks[first], seconds)
    found = taking_turns(measures)
    events = one.events_per_photon
    findings.claims += _claims(stem, found, events, hits)
    findings.tables.append(
        f"{stem}: {events:.2f} events a history, {hits:.2f} of them hits"
        + ("" if chunks else '; no ray engine: pip install "photonsim[benchmark]"')
        + "\n"
        + _table(found, events, arrays.chunk)
    )
    findings.data[stem] = {
        "events_per_history": events,
        "hits_per_history": hits,
        "rates_per_second": {name: rate._asdict() for name, rate in found.items()},
        "array_chunk": arrays.chunk,
        "ray_chunks": chunks,
        "share_of_rays_that_hit": engine.share_hit if engine else None,
    }


def _claims(stem: str, found: dict[str, Rate], events: float, hits: float) -> list[Claim]:
    """Return the ratios: histories against the array tracer, events against the ray engine."""
    one, arrays = found["one"].best, found["arrays"].best
    claims = [
        Claim(
            f"{stem}: {all_threads()} threads of ours / NumPy tracer, histories",
            found["all"].best / arrays,
            TIMES_ARRAYS if stem == LAMPS[0] else None,
        ),
        Claim(f"{stem}: 1 thread of ours / NumPy tracer", one / arrays),
    ]
    if ALL_RAYS in found:
        hit, answered = (found[query].best for query in QUERIES)
        claims += [
            Claim(f"{stem}: our events / ray engine's hits, 1 thread", one * events / hit, 1.0),
            Claim(
                f"{stem}: our events / ray engine's hits, {all_threads()} threads",
                found["all"].best * events / found[ALL_RAYS].best,
                1.0,
            ),
            Claim(f"{stem}: our events that hit / its hits", one * hits / hit),
            Claim(f"{stem}: our events / its rays told yes or no", one * events / answered),
        ]
    return claims


def _table(found: dict[str, Rate], events: float, chunk: int) -> str:
    names = {
        "one": "photonsim, 1 thread",
        "all": f"photonsim, {all_threads()} threads",
        "arrays": f"NumPy arrays of {chunk:,}",
    }
    rows = []
    for name, rate in found.items():
        ours = name in names
        met = rate.best * (events if ours else 1.0)
        rows.append(
            (
                names.get(name, f"ray engine, {name}"),
                f"{rate.best / 1e6:.2f}" if ours else "",
                f"{met / 1e6:.1f}",
                f"{100 * rate.spread:.0f} %",
            )
        )
    return table(("", "M histories/s", "M events or hits/s", "spread"), rows)


def _engine(scene: Scene, paths: Any) -> RayEngine | None:
    """Return the engine with its box, or None where it is not installed."""
    try:
        return RayEngine(scene, paths)
    except ImportError:
        return None


def _sending(engine: RayEngine, threads: int, query: str, chunk: int, seconds: float) -> Any:
    return lambda: engine.rate_on(threads, query, chunk, seconds)
