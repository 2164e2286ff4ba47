"""The pilot: a short run that finds where the light that is collected leaves the emitters."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from os import PathLike
from typing import Literal

import numpy as np

from photonsim.engine.interrupt import Interrupt
from photonsim.engine.workers import Tracer, workers_of
from photonsim.kernel.allotment import EVEN, Guide
from photonsim.program import Compiled
from photonsim.results import Result, ResultError, load_result
from photonsim.results.files.file import is_hdf5
from photonsim.scene import Scene

PILOT_PHOTONS = 1 << 18
# All histories in one batch.
ONE_BATCH = 40
# A guide that takes less than a tenth from the variance of the collected light is not worth it.
LEAST_GAIN = 1.1
# A guide of another lamp that brings less than this share of what its own would suits it badly.
LEAST_SHARE = 0.5
# What guides a run: with "auto" a pilot of its own, with "off" nothing, or what guides another, by
# its result or the file of that.
Guiding = Guide | Result | str | PathLike[str] | None
Asked = Guide | Literal["auto"] | None


def guides_of(
    lamps: Sequence[Scene | Result],
    seed: int,
    guiding: Guiding = "auto",
    meanwhile: Callable[[], object] | None = None,
    threads: int | None = None,
) -> Iterator[Guide | None]:
    """Yield what guides each of several lamps that are compared, the first their reference.

    A result has its own already. `meanwhile` is done while a pilot is traced. Raises ResultError
    for words that name none.
    """
    asked = named_guide(guiding)
    guides: list[Guide | None] = []
    for lamp in lamps:
        if asked != "auto":
            guides.append(asked)
        elif isinstance(lamp, Result):
            guides.append(lamp.tallies.guide)
        else:
            with Interrupt() as interrupt:
                found = partial(pilot, lamp, seed, guides, threads)
                guides.append(interrupt.wait_for(found, meanwhile))
        yield guides[-1]


def pilot(
    scene: Scene, seed: int, beside: Sequence[Guide | None] = (), threads: int | None = None
) -> Guide | None:
    """Return the guide that suits a scene, or None where it would bring less than a tenth.

    `beside` are those of lamps that it is compared with, their reference's first. That one guides
    it too, so that they share their luck, unless its own brings more than twice as much: so unlike
    lamps share next to no luck. It depends on these two lamps alone, whatever else is compared.
    """
    own = _piloted(scene, seed, threads)
    gain = own.gain_for(own.collected)
    for reference in beside[:1]:
        if (reference or EVEN).gain_for(own.collected) >= LEAST_SHARE * gain:
            return reference
    return own if gain >= LEAST_GAIN else None


def _piloted(scene: Scene, seed: int, threads: int | None) -> Guide:
    """Return the guide of a pilot.

    A function of scene and seed alone: it is traced on the processor whatever the run is traced on,
    with random numbers that no run of this seed has.
    """
    # With a guide the kernel is the one that the run will need.
    # Where light lands on the screen, nobody asks.
    compiled = Compiled(scene.model_copy(update={"screen": None}), EVEN)
    digest = hashlib.sha256(f"pilot {seed}".encode()).digest()
    number = int.from_bytes(digest[:8], "little") >> 1
    workers = workers_of(compiled, number, "cpu", "single", threads).workers
    ends = [PILOT_PHOTONS * k // len(workers) for k in range(len(workers) + 1)]

    def trace_share(worker: Tracer, first: int, end: int) -> None:
        rows = np.zeros((1, compiled.row_width), dtype=np.int64)
        worker.trace(first, end - first, ONE_BATCH, rows)

    # Compiled here: one who leaves meanwhile would have to wait for the pool's threads.
    trace_share(workers[0], 0, 0)
    with ThreadPoolExecutor(len(workers)) as pool:
        list(pool.map(trace_share, workers, ends, ends[1:]))
    collected = np.sum([worker.maps.emission for worker in workers], axis=0)
    return Guide(collected, PILOT_PHOTONS, f"pilot of '{scene.title or 'untitled'}', seed {seed}")


def named_guide(guiding: Guiding) -> Asked:
    """Return the guide that is asked for. Raises ResultError for what names none."""
    if isinstance(guiding, str | PathLike) and is_hdf5(guiding):
        guiding = load_result(guiding)
    if isinstance(guiding, Result):
        return guiding.tallies.guide
    if guiding is None or guiding == "off":
        return None
    if guiding == "auto":
        return "auto"
    if isinstance(guiding, Guide):
        return guiding
    words = "must be auto, off, a result, the file of one, or a guide"
    raise ResultError(f"guide {str(guiding)!r}: {words}")
