"""The points of a study: each a scene with some numbers set anew, traced to a wanted error."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from typing import Any

import numpy as np

from photonsim.arrays import Reals
from photonsim.engine import OpenRun, processors
from photonsim.engine.cluster import Cluster
from photonsim.engine.interrupt import Interrupt
from photonsim.engine.open_run import Stop, never
from photonsim.engine.pilot import Guiding, guides_of
from photonsim.results import (
    FIGURES,
    Estimate,
    Guide,
    Result,
    ResultError,
    Shown,
    digest_of,
    figure_named,
    shown_in,
)
from photonsim.results.files.study_table import FACT, FIGURE, PARAMETER, Column
from photonsim.results.remarks.caveats import MOST_GIVEN_UP, MOST_WEIGHT, given_up, mean_weight
from photonsim.scene import Scene, SceneError, is_whole, number_at, unit_of
from photonsim.studies.effort import Effort, Tracer
from photonsim.studies.journal import Journal, Record, point_key
from photonsim.version import __version__

Point = dict[str, float]
Progress = Callable[[int, int, Record], None]


@dataclass(frozen=True)
class Setting:
    """What all points of a study share.

    `guiding` is what guides their emission, as in engine.trace: with "auto" a pilot of the scene.
    """

    scene: Scene
    effort: Effort = field(default_factory=Effort)
    seed: int = 1
    ties: Mapping[str, str] = field(default_factory=dict)
    threads: int | None = None
    guiding: Guiding = "auto"

    @cached_property
    def guide(self) -> Guide | None:
        """The one guide of all points, so that they share their luck."""
        return next(guides_of([self.scene], self.seed, self.guiding, threads=self.threads))

    def afresh(self, by: int) -> Setting:
        """Return the setting with other luck, by so much another seed, and the same guide."""
        return self.changed(seed=self.seed + by)

    def changed(self, **changes: Any) -> Setting:
        """Return the setting with some of it changed, and the guide that was found for it."""
        return replace(self, guiding=self.guide, **changes)

    def tracer(self, scene: Scene, stop: Stop = never, with_maps: bool = True) -> Tracer:
        """Return a function of photons that traces a scene on to them from what it gave before.

        Ctrl-C in it, or a `stop` that says so, breaks off the study: it raises KeyboardInterrupt.
        """
        run = OpenRun.of(scene, self.seed, self.threads, self.guide)

        def step(photons: int) -> Result:
            with Interrupt() as interrupt:
                if not run.go_on(photons, lambda: interrupt.noted or stop()):
                    raise KeyboardInterrupt(interrupt.noted or stop())
            return run.result(with_maps=with_maps)

        return step

    def numbers(self, point: Point) -> Point:
        """Return the numbers that a point sets, with those that follow them by a tie."""
        changed = self.scene.with_numbers(point, self.ties)
        return point | {path: number_at(changed, path) for path in self.ties}

    def definition(self, kind: str) -> Record:
        """Return what must not change while a study's folder is in use."""
        return {
            "kind": kind,
            "program_version": __version__,
            "scene": self.scene.text,
            "seed": self.seed,
            "relative_error": self.effort.relative_error,
            "figure": self.effort.figure,
            "most_photons": self.effort.most_photons,
            "ties": dict(self.ties),
            "guide": digest_of(self.guide),
        }


def measure(setting: Setting, point: Point, stop: Stop = never) -> Record:
    """Trace a point and return its figures; or why it is no possible lamp."""
    began = time.perf_counter()
    try:
        scene = setting.scene.with_numbers(point, setting.ties)
    except SceneError as error:
        return {"point": point, "impossible": "; ".join(map(str, error.mistakes))}
    # No figure of merit asks for maps.
    result = setting.effort.trace(setting.tracer(scene, stop, with_maps=False))
    return record_of(result) | {"point": point, "seconds": time.perf_counter() - began}


def record_of(result: Result) -> Record:
    """Return all figures of merit of a result with their errors, as plain values."""
    return {
        "figures": {name: as_plain(result.estimate(name)) for name in FIGURES},
        "photons": result.photons,
        "given_up": given_up(result),
        "guide": result.guide_digest,
        "mean_weight": mean_weight(result),
    }


def estimate_in(record: Record, name: str) -> Estimate:
    """Return a figure of a record; nan where the point is no possible lamp.

    Raises ResultError where the record was made before there was such a figure.
    """
    if "impossible" in record:
        return Estimate(math.nan, math.nan)
    if name not in record["figures"]:
        raise ResultError(
            f"{FIGURES[name].words} ({name}): the study's folder holds designs that were traced "
            "before there was this figure; leave it out, or add --fresh to trace them again"
        )
    return from_plain(record["figures"][name])


def as_plain(estimate: Estimate) -> list[float | None]:
    """Return value, error and degrees as JSON can hold them: null stands for nan and infinity."""
    parts = (estimate.value, estimate.error, estimate.degrees)
    return [part if math.isfinite(part) else None for part in parts]


def from_plain(parts: Sequence[float | None], systematic: float = 0.0) -> Estimate:
    """Return the estimate that `as_plain` made plain."""
    unknown = (math.nan, math.nan, math.inf)
    value, error, degrees = (
        instead if part is None else part for part, instead in zip(parts, unknown, strict=True)
    )
    return Estimate(value, error, degrees, systematic)


def remark_on(record: Record) -> str:
    """Return why a point is no possible lamp, or what its figures suffer from; else nothing."""
    share = record.get("given_up", 0.0)
    lost = f"{100.0 * share:.2g} % of the light was given up" if share > MOST_GIVEN_UP else ""
    unsuited = "the guide suits it badly" if record.get("mean_weight", 0.0) > MOST_WEIGHT else ""
    return str(record.get("impossible", "; ".join(filter(None, (lost, unsuited)))))


def measure_all(
    setting: Setting,
    points: Sequence[Point],
    journal: Journal,
    cluster: Cluster | None = None,
    progress: Progress | None = None,
) -> list[Record]:
    """Return the records of points in their order, tracing those that the journal lacks."""
    for path in (*setting.ties, *setting.ties.values()):
        number_at(setting.scene, path)
        if path in setting.ties and any(path in point for point in points[:1]):
            raise ResultError(f"{path}: varies, and is to follow another number; choose one")
    keys = [point_key(point) for point in points]
    missing = {key: point for key, point in zip(keys, points, strict=True) if key not in journal}
    # Designs side by side, a thread each, wait less than threads within one design.
    processes = setting.threads or processors()
    at_once = max(1, min(processes, len(missing)))
    threads = processes // at_once if cluster is None else 1
    # A guide travels to other machines, and not the result that it may have been taken from.
    shared = setting.changed(threads=threads)
    names, left = list(missing), list(missing.values())
    if cluster is None:
        outcomes = _measured_here(shared, left, at_once)
    else:
        outcomes = cluster.run(partial(measure, shared), left)
    for done, (place, record) in enumerate(outcomes, 1):
        journal.add(names[place], record)
        if progress is not None:
            progress(done, len(left), record)
    return [journal[key] for key in keys]


def _measured_here(
    setting: Setting, points: Sequence[Point], at_once: int
) -> Iterator[tuple[int, Record]]:
    """Yield the numbers of points and their records, in order, so many traced side by side."""
    if not points:
        return
    with Interrupt() as interrupt, ThreadPoolExecutor(at_once) as pool:
        OpenRun.of(setting.scene, threads=1, guide=setting.guide).compile(interrupt)
        try:
            measured = partial(measure, setting, stop=lambda: interrupt.noted)
            yield from enumerate(pool.map(measured, points))
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def figures_asked(setting: Setting, first: Iterable[str], shown: Sequence[str]) -> list[str]:
    """Return the figures of a study's table: first some, then those to show, or else the usual.

    The one whose error says how long each design is traced is always among them.
    """
    usual = [figure_named(name).name for name in shown] or shown_in(Shown.STUDY)
    return list(dict.fromkeys([*first, *usual, setting.effort.figure]))


def columns_of(
    scene: Scene, records: Sequence[Record], figures: Sequence[str]
) -> tuple[Column, ...]:
    """Return records as columns: the numbers chosen, the figures with errors, photons, remarks."""
    paths = list(dict.fromkeys(path for record in records for path in record["point"]))
    columns = [
        Column(
            path,
            path_label(path, paths),
            unit_of(path),
            PARAMETER,
            np.array(
                [record["point"][path] for record in records],
                np.int64 if is_whole(scene, path) else np.float64,
            ),
        )
        for path in paths
    ]
    columns += [figure_column(name, records) for name in figures]
    photons = [record.get("photons", 0) for record in records]
    columns.append(fact_column("photons", photons, np.int64))
    remarks = [remark_on(record) for record in records]
    return (*columns, *([fact_column("remark", remarks)] if any(remarks) else []))


def fact_column(name: str, facts: Sequence[object], dtype: type = str) -> Column:
    """Return a column of words or numbers that belong to the run, named as it is headed."""
    return Column(name, name, "", FACT, np.array(facts, dtype))


def figure_column(name: str, records: Sequence[Record]) -> Column:
    """Return a figure of records with its errors, in the unit that tables print."""
    figure = FIGURES[name]
    estimates = [estimate_in(record, name) for record in records]
    values: Reals = np.array([estimate.value for estimate in estimates]) * figure.scale
    errors: Reals = np.array([estimate.error for estimate in estimates]) * figure.scale
    return Column(name, figure.words, figure.unit, FIGURE, values, errors)


def path_label(path: str, paths: Sequence[str]) -> str:
    """Return a short label of a path: all but the table it lies in, if that tells it from others.

    So 'film strips offset' stands beside 'film z', and 'housing width' keeps its table.
    """
    keys = path.split(".")
    tail = keys[1:] if len(keys) > 2 else keys
    if sum(other.split(".")[-len(tail) :] == tail for other in paths) > 1:
        tail = keys
    return (
        " ".join(tail).replace("_mm", "").replace("_deg", "").replace("_lm", "").replace("_", " ")
    )
