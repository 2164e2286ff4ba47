"""A run that stays open: it goes on to any count, stops when asked, and tells what it has counted.

Histories are handed out in pieces of some milliseconds, in their order, to whichever thread is
free. Stopped, every thread ends the piece that it is at: what is traced is then a range from
history 0 on, and the same to the last bit as in a run that was to end there.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

from photonsim.arrays import Counts
from photonsim.engine.interrupt import Interrupt
from photonsim.engine.record import Record
from photonsim.engine.workers import Tracer, Workers, workers_of
from photonsim.kernel.allotment import Guide
from photonsim.program import Compiled
from photonsim.results import Result, ResultError
from photonsim.scene import Scene

# A round should be short enough for Ctrl-C and the bar, long enough that waiting costs nothing.
ROUND_SECONDS = 0.3
FIRST_ROUND = 1 << 15
Stop = Callable[[], object]


def never() -> bool:
    """Return False: what asks whether to stop, where nobody wants that."""
    return False


class OpenRun:
    """A run of a scene, as far as it has been traced.

    One thread at a time lets it go on; any may ask for its result, between two rounds. Raises
    ResultError for an `earlier` result that it cannot go on from.
    """

    def __init__(
        self, compiled: Compiled, seed: int, workers: Workers, earlier: Result | None = None
    ) -> None:
        self.workers, device, self.piece = workers
        self.record = Record(compiled, seed, device, len(self.workers), earlier)
        self.rows = self.record.rows
        self._rate = 0.0
        self._at_rest = threading.Lock()
        self._pool = ThreadPoolExecutor(len(self.workers)) if len(self.workers) > 1 else None

    @classmethod
    def of(
        cls, scene: Scene, seed: int = 1, threads: int | None = None, guide: Guide | None = None
    ) -> OpenRun:
        """Return a run of a sound scene on this machine's processor (default: all its threads)."""
        compiled = Compiled(scene, guide)
        return cls(compiled, seed, workers_of(compiled, seed, "cpu", "double", threads))

    def close(self) -> None:
        """End its threads, which would end by themselves some time later."""
        if self._pool is not None:
            self._pool.shutdown()

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

    def go_on(self, photons: int, stop: Stop = never) -> bool:
        """Trace until there are so many histories; return False where it was stopped before.

        `stop` is asked every few milliseconds, by several threads: whether to end now.
        """
        while self.photons < photons and not stop():
            self.round(photons, stop)
        return self.photons >= photons

    def round(self, end: int, stop: Stop = never) -> None:
        """Trace one more range of histories, at least a piece of them and none beyond `end`.

        With a guide to the next count at which the weights sum to the photons exactly.
        """
        with self._at_rest:
            first, began = self.photons, time.perf_counter()
            end = min(end, first + (int(self._rate * ROUND_SECONDS) or FIRST_ROUND))
            if self.piece:
                # Joined batches cannot be parted again, where a run is stopped before they are due.
                end = min(end, self.rows.end_of_size(first))
            end = self.record.exact(end)
            self.rows.make_room(end)
            pieces = self._pieces(first, end)
            shares = [(worker, pieces, first, end, stop) for worker in self.workers]
            if self._pool is None:
                counted = [self._work(*shares[0])]
            else:
                counted = list(self._pool.map(self._work, *zip(*shares, strict=True)))
            for rows in counted:
                if rows is not None:
                    self.rows.add(first, rows)
            self.rows.end_at(pieces[0][0] if pieces else end)
            took = max(time.perf_counter() - began, 1e-6)
            self._rate = (self.photons - first) / took
            self.record.seconds["trace"] += took

    def _pieces(self, first: int, end: int) -> deque[tuple[int, int]]:
        """Return a range cut to pieces; where those hold whole batches, no two share a batch."""
        size = self.piece or -(-(end - first) // len(self.workers))
        start = first // size * size if self.piece else first
        return deque(
            (max(begin, first), min(begin + size, end)) for begin in range(start, end, size)
        )

    def _work(
        self, worker: Tracer, pieces: deque[tuple[int, int]], first: int, end: int, stop: Stop
    ) -> Counts | None:
        """Trace pieces until there are no more; return rows that stay to be added, if any."""
        shift = self.rows.shift
        # Pieces of whole batches are counted where they belong.
        apart = not self.piece or 1 << shift > self.piece
        rows = self.rows.rows_for(first, end - first) if apart else self.rows.rows[first >> shift :]
        while True:
            try:
                begin, until = pieces.popleft()
            except IndexError:
                break
            try:
                below = (begin >> shift) - (first >> shift)
                worker.trace(begin, until - begin, shift, rows[below:])
            except Exception as error:
                pieces.clear()
                raise ResultError(
                    f"tracing failed within histories {begin} to {until - 1}: {error}; what was "
                    f"saved before stands; `photonsim replay` walks single histories"
                ) from error
            if stop():
                break
        return rows if apart else None

    def result(
        self, status: str = "complete", stopped_by: str = "", with_maps: bool = True
    ) -> Result:
        """Return what was counted so far; maps are empty if not asked for."""
        with self._at_rest:
            why = stopped_by or f"photon count {self.photons:,}"
            return self.record.result(status, why, self.workers, with_maps)
