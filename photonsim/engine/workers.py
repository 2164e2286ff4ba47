"""Who traces: one worker for every thread of the processor, or one for every GPU."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from typing import NamedTuple

from photonsim.engine.worker import Tracer, Worker
from photonsim.program import Compiled
from photonsim.results import ResultError

DEVICES = ("cpu", "cuda")
# Histories in a piece of work, 2 ms of a thread's: a run can be stopped after each. Batches are
# powers of two as well, so that a piece holds whole ones or lies within one. A GPU, 0, is best
# filled in one go.
PIECE = 1 << 14
# Every thread counts on a panel of its own; with huge ones fewer threads do, to the same bits.
MOST_TALLY_BYTES = 4_000_000_000


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
