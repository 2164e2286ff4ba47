"""One thread's share of the work: its own tallies, so that nothing is shared while it counts."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from photonsim.kernel import codes
from photonsim.kernel.tallies import Maps
from photonsim.kernel.tally import trace_guided_range, trace_range
from photonsim.program import Compiled

LOST_KEPT = 16


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
        self.program = compiled.program
        self.seed = np.uint64(seed)
        self.maps = Maps._make(np.zeros(shape, np.int64) for shape in compiled.map_shapes)
        self.lost: list[int] = []
        is_guided = self.program.traits & codes.GUIDED
        self._trace = trace_guided_range if is_guided else trace_range

    def trace(self, first: int, count: int, shift: int, rows: NDArray[np.int64]) -> None:
        """Trace histories first .. first + count - 1 and add them to the maps and to `rows`."""
        lost = np.zeros(1 + LOST_KEPT, dtype=np.int64)
        self._trace(
            self.program,
            self.seed,
            np.uint64(first),
            count,
            np.uint64(shift),
            rows,
            self.maps,
            lost,
        )
        self.lost += lost[1 : 1 + min(int(lost[0]), LOST_KEPT)].tolist()
