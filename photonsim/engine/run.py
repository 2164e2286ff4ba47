"""A run: rounds of histories until a stop rule is met, saved now and then."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import closing, nullcontext
from functools import cache
from os import PathLike
from pathlib import Path
from typing import Literal

from photonsim.arrays import Whole
from photonsim.engine.interrupt import Interrupt
from photonsim.engine.open_run import OpenRun
from photonsim.engine.pilot import Asked, Guiding, guides_of, named_guide
from photonsim.engine.progress import ProgressBar
from photonsim.engine.record import why_anew
from photonsim.engine.stop_rule import StopRule
from photonsim.engine.workers import workers_of
from photonsim.program import Compiled
from photonsim.results import (
    Result,
    ResultError,
    load_result,
    photons_there,
    refuse_foreign,
    scene_of,
    sole_writer,
)
from photonsim.results.errors import whole_number
from photonsim.results.files.file import make_ready_to_save, save_traced
from photonsim.results.files.soundness import LARGEST_SEED
from photonsim.results.files.writing import EARLIER, say
from photonsim.scene import Scene, changes, shortly

# No more of a run's time goes into what it saves while it is still running.
SAVING_SHARE = 0.02
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
    guide: Guiding = "auto",
) -> Result:
    """Trace a scene, also given as a file or a result of it, and return what was counted.

    The run ends at `photons` histories, when the relative error of `figure` falls to
    `relative_error`, after `seconds`, or once the map of collected light is `fit_to_print` (2,000
    blocks to 3 %), whichever comes first; without any, at 33,554,432. The result depends on the
    seed and the count alone, not on `threads` (default: all) or on being done in one go: with
    `resume`, a result of the same scene and seed is continued. With `save_to` the result is saved
    there every `save_every`, or more seldom where that would take more than 2 % of the time, and at
    the end; `resume` "saved" then continues what lies there, if anything of the same numbers does,
    read when no other process can write to it any more; a result of other numbers moves to the
    folder `earlier`. Ctrl-C ends the run with what it has, marked partial, which never takes the
    place of more photons of the same numbers. With `device` "cuda" all GPUs of the machine trace,
    in `precision` "single" or "double"; they follow the same random numbers, but round otherwise,
    so that a few histories in a million may end elsewhere. Raises ResultError for requests that
    cannot be met, SceneError for a wrong scene.

    Emission is guided to where light is collected by a short pilot of this scene and seed, where
    that takes at least a tenth from the variance of the collected light; or by `guide`, a guide or
    that of another result, also given by its file, so that two are traced alike; or not, with
    "off". With a guide the count is rounded up to a multiple of 256 histories, which stand for just
    as many emitted photons.

    >>> import photonsim
    >>> result = photonsim.trace("scenes/d_split_film.toml", photons=102_400, seed=3)
    >>> result.photons, result.run.stopped_by
    (102400, 'photon count 102,400')
    """
    scene = scene_of(scene)
    rule = StopRule(photons, relative_error, seconds, figure, fit_to_print)
    seed = whole_number("seed", seed, 0, LARGEST_SEED)
    held = nullcontext() if save_to is None else sole_writer(save_to)
    compiled, asked = Compiled(scene), named_guide(guide)
    with held, Interrupt() as interrupt:
        earlier = earlier_result(resume, save_to, compiled, seed, asked)
        meanwhile = None if save_to is None else make_ready_to_save
        (guided_by,) = guides_of([earlier or scene], seed, asked, meanwhile, threads)
        rule, compiled = rule.with_guide(guided_by), Compiled(scene, guided_by)
        workers = workers_of(compiled, seed, device, precision, threads)
        with closing(OpenRun(compiled, seed, workers, earlier)) as run:
            bar = ProgressBar(scene.title, rule, run.photons, progress)
            told = resume == "saved" and earlier is None
            return _traced(run, rule, bar, save_to, save_every, told, interrupt)


def earlier_result(
    resume: Resume,
    save_to: str | PathLike[str] | None,
    compiled: Compiled,
    seed: int,
    asked: Asked,
) -> Result | None:
    """Return the result to go on from; whoever saves holds the file already.

    What was saved of other photons, by the lamp, seed, version or guide, is not gone on from; a
    line says what changed and where that result will lie. Another one says what changed that no
    photon sees.
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
    try:
        earlier = load_result(save_to)
    except ResultError as error:
        raise ResultError(f"{error}; --fresh keeps it in {EARLIER} and starts anew") from None
    if why := why_anew(earlier, compiled, seed, asked):
        aside = Path(save_to).parent / EARLIER
        say(f"{save_to}: {why}; traced anew, and the last one moves to {aside}")
        return None
    if found := changes(earlier.scene, compiled.scene, of_light=False):
        # A title that says what was set changes with it.
        found = [change for change in found if not change.startswith("title ")] or found
        say(f"{save_to}: {shortly(found)}; no photon sees that, so all of them are kept")
    return earlier


def _traced(
    run: OpenRun,
    rule: StopRule,
    bar: ProgressBar,
    save_to: str | PathLike[str] | None,
    save_every: float,
    told: bool,
    interrupt: Interrupt,
) -> Result:
    """Trace rounds until a rule or a request ends the run, saving now and then.

    `told` says that what moves to `earlier` when the run is first saved was told of.
    """
    started = saved = time.perf_counter()
    saving, saved_photons = 0.0, -1
    found = so_far(run, rule)
    kept = photons_there(save_to, found()) if save_to else None
    run.compile(interrupt)
    stopped_by = rule.reason(run.photons, 0.0, found) if run.photons else ""
    while not (stopped_by or interrupt.noted):
        run.round(rule.next_look(run.photons), lambda: interrupt.noted)
        now = time.perf_counter()
        found = so_far(run, rule)
        stopped_by = rule.reason(run.photons, now - started, found)
        bar.show(found)
        due = now - saved > max(save_every, saving / SAVING_SHARE)
        if save_to is not None and due and run.photons >= (kept or 0) and not stopped_by:
            save_traced(run.result("partial", "still running"), save_to, told)
            saved, saved_photons = time.perf_counter(), run.photons
            saving = saved - now
    if not run.photons:
        raise KeyboardInterrupt(interrupt.noted)
    status = "complete" if stopped_by else "partial"
    result = run.result(status, stopped_by or interrupt.noted)
    bar.close()
    # A request to end that came during a save does not wait for a second one of the same.
    if save_to is not None and (stopped_by or (kept or 0) <= run.photons != saved_photons):
        save_traced(result, save_to, told)
        if stopped_by and interrupt.noted:
            # It came as the last photons did, or during the save: what was to follow is not begun.
            raise KeyboardInterrupt(interrupt.noted)
    return result


def so_far(run: OpenRun, rule: StopRule) -> Callable[[], Result]:
    """Return what makes the result so far once, for a rule to judge, with maps if it needs them."""
    return cache(lambda: run.result("partial", "still running", rule.needs_maps(run.photons)))
