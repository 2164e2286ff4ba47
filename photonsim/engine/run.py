"""A run: rounds of batches over a thread pool until a stop rule is met."""

from __future__ import annotations

import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext
from itertools import pairwise
from os import PathLike
from pathlib import Path
from typing import Literal

import numpy as np

from photonsim.arrays import Whole
from photonsim.engine.interrupt import Interrupt
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
    scene_of,
    sole_writer,
)
from photonsim.results.errors import whole_number
from photonsim.results.files.file import save_traced
from photonsim.results.files.soundness import LARGEST_SEED
from photonsim.results.files.writing import EARLIER
from photonsim.scene import Scene, changes, shortly
from photonsim.words.escaping import visible

# A round should be short enough for Ctrl-C and the bar, long enough that waiting costs nothing.
ROUND_SECONDS = 0.3
FIRST_ROUND = 1 << 14
# A warm start takes less; longer than this the compiler must be at work.
SILENT_SECONDS = 2.0
# What to go on from: a result, what lies where the run is saved, or nothing.
Resume = Result | Literal["saved"] | None


def trace(
    scene: Scene | Result | str | PathLike[str],
    photons: Whole | None = None,
    seed: Whole = 1,
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
) -> Result:
    """Trace a scene, also given as a file or a result of it, and return what was counted.

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
    end elsewhere. Raises ResultError for requests that cannot be met, SceneError for a wrong scene.

    >>> import photonsim
    >>> result = photonsim.trace("scenes/d_split_film.toml", photons=1e5, seed=3)
    >>> result.photons, result.run.stopped_by
    (100000, 'photon count 100,000')
    """
    scene = scene_of(scene)
    rule = StopRule(photons, relative_error, seconds, figure, fit_to_print)
    seed = whole_number("seed", seed, 0, LARGEST_SEED)
    compiled = Compiled(scene)
    workers = workers_of(compiled, seed, device, precision, threads)
    held = nullcontext() if save_to is None else sole_writer(save_to)
    with held:
        earlier = earlier_result(resume, save_to, compiled, seed)
        run = RunState(compiled, seed, workers, earlier)
        bar = ProgressBar(scene.title, rule, run.photons, progress)
        told = resume == "saved" and earlier is None
        return _traced(run, rule, bar, save_to, save_every, told)


def earlier_result(
    resume: Resume, save_to: str | PathLike[str] | None, compiled: Compiled, seed: int
) -> Result | None:
    """Return the result to go on from; whoever saves holds the file already.

    What was saved of other photons, by the lamp, seed or version, is not gone on from; a line says
    what changed and where that result will lie. Another one says what changed that no photon sees.
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
    if why := why_anew(earlier, compiled, seed):
        aside = Path(save_to).parent / EARLIER
        _say(f"{save_to}: {why}; traced anew, and the last one moves to {aside}")
        return None
    if found := changes(earlier.scene, compiled.scene, of_light=False):
        # A title that says what was set changes with it.
        found = [change for change in found if not change.startswith("title ")] or found
        _say(f"{save_to}: {shortly(found)}; no photon sees that, so all of them are kept")
    return earlier


def _say(line: str) -> None:
    print(visible(line), file=sys.stderr, flush=True)


def _traced(
    run: RunState,
    rule: StopRule,
    bar: ProgressBar,
    save_to: str | PathLike[str] | None,
    save_every: float,
    told: bool,
) -> Result:
    """Trace rounds until a rule or a request ends the run, saving now and then.

    `told` says that what moves to `earlier` when the run is first saved was told of.
    """
    started = saved = time.perf_counter()
    saved_photons = -1
    kept = run.record.photons_at(save_to) if save_to else None
    with Interrupt() as interrupt, ThreadPoolExecutor(len(run.workers)) as pool:
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
                save_traced(run.whole("partial", "still running", tracing), save_to, told)
                saved, saved_photons = time.perf_counter(), run.photons
        if not run.photons:
            raise KeyboardInterrupt(interrupt.noted)
        status = "complete" if stopped_by else "partial"
        result = run.whole(status, stopped_by or interrupt.noted, tracing)
        bar.close()
        # A request to end that came during a save does not wait for a second one of the same.
        if save_to is not None and (stopped_by or (kept or 0) <= run.photons != saved_photons):
            save_traced(result, save_to, told)
    return result


class RunState:
    """What a run holds while it lasts."""

    def __init__(
        self, compiled: Compiled, seed: int, workers: Workers, earlier: Result | None
    ) -> None:
        self.workers, device, self.pieces = workers
        self.record = Record(compiled, seed, device, len(self.workers), earlier)
        self.rows = self.record.rows
        self.rate = 0.0

    @property
    def photons(self) -> int:
        """The histories traced so far."""
        return self.rows.photons

    def compile(self, interrupt: Interrupt) -> None:
        """Have the kernel compiled, or fetched from disk, and say so if it takes long.

        In a thread of its own, since the compiler does not let go of one for many seconds: a
        request to end raises KeyboardInterrupt at once. There is nothing to save yet.
        """
        start = time.perf_counter()
        failed: list[Exception] = []
        compiling = threading.Thread(target=self._trace_nothing, args=(failed,), daemon=True)
        compiling.start()
        silent = True
        while compiling.is_alive():
            if interrupt.noted:
                raise KeyboardInterrupt(interrupt.noted)
            if silent and time.perf_counter() - start > SILENT_SECONDS:
                silent = _say_compiling()
            compiling.join(0.1)
        if failed:
            raise failed[0]
        self.record.seconds["compile"] += time.perf_counter() - start

    def _trace_nothing(self, failed: list[Exception]) -> None:
        try:
            self.workers[0].trace(0, 0, self.rows.shift, self.rows.rows_for(0, 1))
        except Exception as error:  # told in the thread that waits for this one
            failed.append(error)

    def round(self, pool: ThreadPoolExecutor, end: int) -> None:
        """Trace one more range of histories, split over the threads, none beyond `end`."""
        first = self.photons
        wanted = int(self.rate * ROUND_SECONDS) or FIRST_ROUND
        count = min(wanted, end - first)
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


def _say_compiling() -> bool:
    """Say once that the compiler is at work; return that it is silent no longer."""
    print(
        "compiling the tracer for this machine, about half a minute; kept for the next run",
        file=sys.stderr,
        flush=True,
    )
    return False
