"""One thread's share of the work: its own tallies, so that nothing is shared while it counts."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from photonsim.kernel import codes
from photonsim.kernel.tally import trace_range
from photonsim.program import Program

LOST_KEPT = 16


class Tracer(Protocol):
    """What a run asks of a worker, on whatever it runs."""

    lost: list[int]

    @property
    def program(self) -> Program:
        """The program in double precision."""

    def trace(self, first: int, count: int, shift: int, rows: NDArray[np.int64]) -> None:
        """Trace histories first .. first + count - 1 and add them to the tallies and to `rows`."""

    @property
    def panel(self) -> NDArray[np.int64]:
        """[rows, columns, PANEL_SUMS] so far."""

    @property
    def directions(self) -> NDArray[np.int64]:
        """[DIRECTION_BINS, DIRECTION_BINS] so far."""

    @property
    def pupil(self) -> NDArray[np.int64]:
        """[PUPIL_BINS, PUPIL_BINS] so far."""

    @property
    def spots(self) -> NDArray[np.int64]:
        """[CELLS, CELLS, SPOT_LEVELS, SPOT_BINS, SPOT_BINS] so far."""

    @property
    def stop_sums(self) -> NDArray[np.int64]:
        """[CELLS, CELLS, STOP_BINS, STOP_BINS, STOP_SUMS] so far."""


def screen_shapes(program: Program) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Return the shapes of the tallies `spots` and `stop_sums`: empty without a screen."""
    cells = codes.CELLS if program.screen[codes.SCREEN_ON] else 0
    spot, stop = codes.SPOT_BINS, codes.STOP_BINS
    return (
        (cells, cells, codes.SPOT_LEVELS, spot, spot),
        (cells, cells, stop, stop, codes.STOP_SUMS),
    )


class Worker:
    """Traces ranges of histories into tallies of its own; only one thread may use it at a time."""

    def __init__(self, program: Program, seed: int, panel_shape: tuple[int, int]) -> None:
        self.program = program
        self.seed = np.uint64(seed)
        self.panel = np.zeros((*panel_shape, codes.PANEL_SUMS), dtype=np.int64)
        bins = codes.DIRECTION_BINS
        self.directions = np.zeros((bins, bins), dtype=np.int64)
        self.pupil = np.zeros((codes.PUPIL_BINS, codes.PUPIL_BINS), dtype=np.int64)
        self.spots, self.stop_sums = (np.zeros(shape, np.int64) for shape in screen_shapes(program))
        self.lost: list[int] = []

    def trace(self, first: int, count: int, shift: int, rows: NDArray[np.int64]) -> None:
        """Trace histories first .. first + count - 1 and add them to the tallies and to `rows`."""
        lost = np.zeros(1 + LOST_KEPT, dtype=np.int64)
        trace_range(
            self.program,
            self.seed,
            np.uint64(first),
            count,
            np.uint64(shift),
            rows,
            self.panel,
            self.directions,
            self.pupil,
            lost,
            self.spots,
            self.stop_sums,
        )
        self.lost += lost[1 : 1 + min(int(lost[0]), LOST_KEPT)].tolist()
