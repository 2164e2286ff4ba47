"""Who traces: one worker for every thread of the processor, or one for every GPU.

Each has tallies of its own, so that nothing is shared while it counts.
"""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from photonsim.kernel.entries import range_tracer
from photonsim.kernel.entry import Flat
from photonsim.kernel.flights import no_flights
from photonsim.kernel.tallies import LOST_KEPT, Maps
from photonsim.program import Compiled
from photonsim.results import ResultError

DEVICES = ("cpu", "cuda")
# Histories in a piece of work, 2 ms of a thread's: a run can be stopped after each. Batches are
# powers of two as well, so that a piece holds whole ones or lies within one. A GPU, 0, is best
# filled in one go.
PIECE = 1 << 14
# Every thread counts on a panel of its own; with huge ones fewer threads do, to the same bits.
MOST_TALLY_BYTES = 4_000_000_000


class Tracer(Protocol):
    """What a run asks of a worker, on whatever it runs."""

    lost: list[int]

    def trace(self, first: int, count: int, shift: int, rows: NDArray[np.int64]) -> None:
        """Trace histories first .. first + count - 1 and add them to the maps and to `rows`."""

    @property
    def maps(self) -> Maps:
        """The maps so far, as the kernel counts: see engine.rows.every_arrival."""


class Worker:
    """Traces ranges of histories into tallies of its own; only one thread may use it at a time."""

    def __init__(self, compiled: Compiled, seed: int) -> None:
        self._program = Flat(compiled.program)
        self.seed = np.uint64(seed)
        self.maps = Maps._make(np.zeros(shape, np.int64) for shape in compiled.map_shapes)
        self._maps = Flat(self.maps)
        self._flights = Flat(no_flights())
        self.lost: list[int] = []
        self._trace = range_tracer(compiled.program.traits)

    def trace(self, first: int, count: int, shift: int, rows: NDArray[np.int64]) -> None:
        """Trace histories first .. first + count - 1 and add them to the maps and to `rows`."""
        lost = np.zeros(1 + LOST_KEPT, dtype=np.int64)
        self._trace(
            self._program,
            self.seed,
            np.uint64(first),
            count,
            np.uint64(shift),
            rows,
            self._maps,
            lost,
            self._flights,
        )
        self.lost += lost[1 : 1 + min(int(lost[0]), LOST_KEPT)].tolist()


class Workers(NamedTuple):
    """The workers, what they run on (for the record), and the histories in a piece of work."""

    workers: Sequence[Tracer]
    device: str
    piece: int


def workers_of(
    compiled: Compiled, seed: int, device: str, precision: str, threads: int | None = None
) -> Workers:
    """Return the workers for a scene. Raises ResultError for a device that is not there."""
    if device not in DEVICES:
        raise ResultError(f"device {device!r}: must be one of {', '.join(DEVICES)}")
    if device == "cpu":
        most = MOST_TALLY_BYTES // (8 * math.prod(compiled.map_shapes.panel))
        count = max(1, min(threads or processors(), most))
        return Workers([Worker(compiled, seed) for _ in range(count)], device, PIECE)
    from photonsim.engine.cuda import CudaWorker, graphics_processors

    workers = [CudaWorker(gpu, compiled, seed, precision) for gpu in graphics_processors()]
    return Workers(workers, f"{device}, {precision} precision", 0)


def processors() -> int:
    """Return how many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1
