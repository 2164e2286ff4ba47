"""A run: rounds of batches over a thread pool until a stop rule is met."""

from __future__ import annotations

import sys
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from itertools import pairwise
from os import PathLike
from pathlib import Path
from typing import Literal

import numpy as np

from photonsim.engine.interrupt import Interrupt
from photonsim.engine.pilot import Guiding, guide_of, wanted_digest
from photonsim.engine.progress import ProgressBar
from photonsim.engine.record import Record, why_anew
from photonsim.engine.stop_rule import StopRule
from photonsim.engine.worker import Tracer
from photonsim.engine.workers import Workers, workers_of
from photonsim.program import Compiled
from photonsim.results import (
    Result,
    ResultError,
    load_result,
    refuse_foreign,
    sole_writer,
)
from photonsim.results.files.soundness import LARGEST_SEED
from photonsim.results.guide import Guide
from photonsim.scene import Scene, validated
from photonsim.words.escaping import visible

# A round should be short enough for Ctrl-C and the bar, long enough that waiting costs nothing.
ROUND_SECONDS = 0.3
FIRST_ROUND = 1 << 14
# What to go on from: a result, what lies where the run is saved, or nothing.
Resume = Result | Literal["saved"] | None


def trace(
    scene: Scene,
    photons: int | None = None,
    seed: int = 1,
    *,
    relative_error: float | None = None,
    figure: str = "collected_fraction",
    seconds: float | None = None,
    fit_to_print: bool = False,
    threads: int | None = None,
    device: str = "cpu",
    precision: str = "single",
    resume: Resume = None,
    save_to: str | PathLike[str] | None = None,
    save_every: float = 30.0,
    progress: bool = False,
    guide: Guiding = "auto",
) -> Result:
    """Trace a scene and return what was counted.

    The run ends at `photons` histories, when the relative error of `figure` falls to
    `relative_error`, after `seconds`, or once the map of collected light is `fit_to_print` (2,000
    blocks to 3 %), whichever comes first; without any, at 33,554,432. The
    result depends on the seed and the count alone, not on `threads` (default: all) or on being
    done in one go: with `resume`, a result of the same scene and seed is continued. With `save_to`
    the result is saved there every `save_every` and at the end; `resume` "saved" then continues
    what lies there, if anything of the same numbers does, read when no other process can write to
    it any more; a result of other numbers moves to the folder `earlier`. Ctrl-C ends the run with
    what it has, marked partial, which never takes the place of more photons of the same numbers.
    With `device` "cuda" all GPUs of the machine trace, in `precision` "single" or "double"; they
    follow the same random numbers, but round otherwise, so that a few histories in a million may
    end elsewhere.

    Emission is guided to where light is collected by a short pilot of this scene and seed, where
    that takes at least a tenth from the variance of the collected light; or by `guide`, a guide or
    that of another result, so that the two are traced alike; or not, with "off". A result that is
    continued goes on as it began. With a guide the count is rounded up to a multiple of 256
    histories, which stand for just as many emitted photons.

    Raises ResultError for requests that cannot be met, SceneError for a scene that was changed in
    memory into a wrong one.
    """
    scene = validated(scene)
    rule = StopRule(photons, relative_error, seconds, figure, fit_to_print)
    if not 0 <= seed <= LARGEST_SEED:
        raise ResultError(f"seed = {seed}: must be from 0 to {LARGEST_SEED}")
    held = nullcontext() if save_to is None else sole_writer(save_to)
    with held, Interrupt() as interrupt:
        earlier = earlier_result(resume, save_to, scene, seed, guide)
        guided_by = interrupt.wait_for(lambda: guide_of(guide, earlier, scene, seed))
        rule = rule.with_guide(guided_by)
        compiled = Compiled(scene, guided_by.doublings if guided_by else None)
        workers = workers_of(compiled, seed, device, precision, threads)
        run = RunState(compiled, seed, workers, earlier, guided_by)
        bar = ProgressBar(scene.title, rule.most_photons, run.photons, progress)
        return _traced(run, rule, bar, save_to, save_every, interrupt)


def earlier_result(
    resume: Resume,
    save_to: str | PathLike[str] | None,
    scene: Scene,
    seed: int,
    guiding: Guiding = "auto",
) -> Result | None:
    """Return the result to go on from; whoever saves holds the file already.

    What was saved of another lamp, seed, version or guide is not gone on from; a line says why.
    Raises ResultError where what lies there is no result, also if nothing of it is wanted.
    """
    if save_to is not None:
        refuse_foreign(save_to)
    if resume != "saved":
        return resume
    if save_to is None:
        raise ResultError('resume = "saved" needs a file to save to')
    if not Path(save_to).exists():
        return None
    earlier = load_result(save_to)
    if why := why_anew(earlier, scene, seed, wanted_digest(guiding)):
        print(visible(f"{save_to}: is {why}; traced anew"), file=sys.stderr, flush=True)
        return None
    return earlier


def _traced(
    run: RunState,
    rule: StopRule,
    bar: ProgressBar,
    save_to: str | PathLike[str] | None,
    save_every: float,
    interrupt: Interrupt,
) -> Result:
    """Trace rounds until a rule or a request ends the run, saving now and then."""
    started = saved = time.perf_counter()
    saved_photons = -1
    kept = run.record.photons_at(save_to) if save_to else None
    with ThreadPoolExecutor(len(run.workers)) as pool:
        run.compile(interrupt)
        tracing = time.perf_counter()
        stopped_by = rule.reason(run.so_far(rule, tracing), 0.0) if run.photons else ""
        while not (stopped_by or interrupt.noted):
            run.round(pool, rule.next_look(run.photons))
            now = time.perf_counter()
            snapshot = run.so_far(rule, tracing)
            stopped_by = rule.reason(snapshot, now - started)
            bar.show(snapshot)
            due = now - saved > save_every and run.photons >= (kept or 0)
            if save_to is not None and due and not stopped_by:
                run.whole("partial", "still running", tracing).save(save_to)
                saved, saved_photons = time.perf_counter(), run.photons
        if not run.photons:
            raise KeyboardInterrupt(interrupt.noted)
        status = "complete" if stopped_by else "partial"
        result = run.whole(status, stopped_by or interrupt.noted, tracing)
        bar.close()
        # A request to end that came during a save does not wait for a second one of the same.
        if save_to is not None and (stopped_by or (kept or 0) <= run.photons != saved_photons):
            result.save(save_to)
    return result


class RunState:
    """What a run holds while it lasts."""

    def __init__(
        self,
        compiled: Compiled,
        seed: int,
        workers: Workers,
        earlier: Result | None,
        guide: Guide | None,
    ) -> None:
        self.workers, device, self.pieces = workers
        self.record = Record(compiled, seed, device, len(self.workers), earlier, guide)
        self.rows = self.record.rows
        self.rate = 0.0

    @property
    def photons(self) -> int:
        """The histories traced so far."""
        return self.rows.photons

    def compile(self, interrupt: Interrupt) -> None:
        """Have the kernel compiled, or fetched from disk. There is nothing to save yet."""
        start = time.perf_counter()
        rows = self.rows.rows_for(0, 1)
        interrupt.wait_for(lambda: self.workers[0].trace(0, 0, self.rows.shift, rows))
        self.record.seconds["compile"] += time.perf_counter() - start

    def round(self, pool: ThreadPoolExecutor, end: int) -> None:
        """Trace one more range of histories, split over the threads, none beyond `end`.

        With a guide to the next count at which the weights sum to the photons exactly.
        """
        first = self.photons
        wanted = int(self.rate * ROUND_SECONDS) or FIRST_ROUND
        count = self.record.exact(first + min(wanted, end - first)) - first
        start = time.perf_counter()
        self.rows.make_room(first + count)
        pieces = min(len(self.workers) * self.pieces, count)
        edges = [first + count * k // pieces for k in range(pieces + 1)]
        ranges = list(pairwise(edges))
        shares = [ranges[k :: len(self.workers)] for k in range(len(self.workers))]
        for done in pool.map(self._work, self.workers, shares):
            for begin, rows in done:
                self.rows.add(begin, rows)
        self.rate = count / max(time.perf_counter() - start, 1e-6)

    def _work(self, worker: Tracer, ranges: list[tuple[int, int]]) -> list[tuple[int, np.ndarray]]:
        done = []
        for begin, end in ranges:
            rows = self.rows.rows_for(begin, end - begin)
            try:
                worker.trace(begin, end - begin, self.rows.shift, rows)
            except Exception as error:
                raise ResultError(
                    f"tracing failed within histories {begin} to {end - 1}: {error}; what was "
                    f"saved before stands; `photonsim replay` walks single histories"
                ) from error
            done.append((begin, rows))
        return done

    def so_far(self, rule: StopRule, tracing: float) -> Result:
        """Return the result so far for a rule to judge; maps are put together only if it needs."""
        with_maps = rule.needs_maps(self.photons)
        return self.record.result("partial", "still running", tracing, self.workers, with_maps)

    def whole(self, status: str, stopped_by: str, tracing: float) -> Result:
        """Return the result so far, the workers' tallies added up."""
        return self.record.result(status, stopped_by, tracing, self.workers)
