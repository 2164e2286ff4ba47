"""Work on other processes and machines, through a dask.distributed scheduler (extra [cluster]).

A piece of a run is a range of histories; since the random numbers of a history follow from the seed
and its number, and tallies are whole numbers, it does not matter who traces a piece, when, or how
often it had to be begun again: the sum has the same bits as a run on one thread.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import nullcontext
from functools import partial
from os import PathLike
from typing import Any, TypeVar

import numpy as np

from photonsim.arrays import Counts
from photonsim.engine.pilot import Guiding, guides_of, named_guide
from photonsim.engine.record import Record
from photonsim.engine.rows import batch_shift
from photonsim.engine.run import Resume, earlier_result
from photonsim.engine.stop_rule import StopRule
from photonsim.engine.workers import Worker
from photonsim.kernel.tallies import Maps
from photonsim.program import Compiled
from photonsim.results import Result, ResultError, sole_writer
from photonsim.results.files.file import save_traced
from photonsim.scene import Scene, validated

# A core gets so many pieces of a round: a slow one then holds up the end by an eighth.
PIECES_PER_CORE = 8
# A piece costs this process 20 ms, for 6 MB of tallies to be added up. At half a minute of a core
# that is a part in 1,500, and so 1,500 cores can be fed; and no more is lost with a worker.
MOST_PIECE_PHOTONS = 1 << 26
# Tasks handed over ahead of their turn, per core: enough that nobody waits for the next.
AHEAD = 3
# How long to wait for a scheduler that has gone, in seconds.
PATIENCE = 60.0


Item = TypeVar("Item")
Outcome = TypeVar("Outcome")


class _SchedulerLostError(Exception):
    """The scheduler does not answer any more."""


class Cluster:
    """A scheduler and its workers; use it in a `with` block.

    `where` is a scheduler's address, such as tcp://192.168.1.10:8786, or local:2 for two processes
    on this machine. Raises ResultError where there is no scheduler or dask.distributed is missing.
    """

    def __init__(self, where: str, patience: float = PATIENCE) -> None:
        self.where, self.patience = where, patience
        self._client: Any = None
        self._local: Any = None
        kind, _, count = where.partition(":")
        self._processes = 0
        if kind == "local":
            if not (count.isdigit() and 1 <= int(count) <= 1024):
                raise ResultError(f"{where!r}: write local:2 for two processes on this machine")
            self._processes = int(count)
        try:
            import distributed  # noqa: F401
        except ImportError:
            raise ResultError(
                "work on a cluster needs dask.distributed; install it with "
                "pip install 'photonsim[cluster]'"
            ) from None

    def __enter__(self) -> Cluster:
        self._connect(10.0)
        return self

    def __exit__(self, *_: object) -> None:
        self._disconnect()

    @property
    def cores(self) -> int:
        """The threads of all workers together, at least 1."""
        return max(1, sum(self._client.nthreads().values()))

    def run(
        self, function: Callable[[Item], Outcome], items: Sequence[Item]
    ) -> Iterator[tuple[int, Outcome]]:
        """Yield (index, function(item)) as the outcomes come in, in no fixed order.

        The loss of a worker costs what it was at; dask hands that to another. If the scheduler
        goes, what is missing is handed over again once it is back. Raises ResultError after
        `patience` seconds without it, and whatever the function raises.
        """
        missing = dict(enumerate(items))
        while missing:
            try:
                for place, outcome in self._hand_over(function, dict(missing)):
                    del missing[place]
                    yield place, outcome
            except _SchedulerLostError:
                self._wait_for_scheduler(len(missing))

    def _hand_over(
        self, function: Callable[[Item], Outcome], items: dict[int, Item]
    ) -> Iterator[tuple[int, Outcome]]:
        from concurrent.futures import CancelledError

        from distributed import as_completed

        waiting = iter(items.items())
        places: dict[str, int] = {}
        under_way = as_completed()

        def submit_next() -> None:
            for place, item in waiting:
                future = self._client.submit(function, item, pure=False)
                places[future.key] = place
                under_way.add(future)
                return

        try:
            for _ in range(AHEAD * self.cores):
                submit_next()
            for future in under_way:
                outcome = future.result()
                submit_next()
                yield places[future.key], outcome
        except (CancelledError, OSError, TimeoutError, RuntimeError) as error:
            if isinstance(error, RuntimeError) and self._client.status == "running":
                raise
            raise _SchedulerLostError from None

    def _wait_for_scheduler(self, missing: int) -> None:
        print(
            f"lost the scheduler at {self.where} with {missing} tasks to go; waiting for it",
            file=sys.stderr,
            flush=True,
        )
        self._disconnect()
        give_up = time.monotonic() + self.patience
        while True:
            try:
                self._connect(5.0)
                return
            except ResultError:
                if time.monotonic() > give_up:
                    raise ResultError(
                        f"the scheduler at {self.where} did not come back in {self.patience:g} s; "
                        "what was done is kept: start it, and the same command goes on"
                    ) from None
                time.sleep(1.0)

    def _connect(self, timeout: float) -> None:
        from distributed import Client, LocalCluster

        try:
            if self._processes:
                self._local = LocalCluster(
                    n_workers=self._processes,
                    threads_per_worker=1,
                    processes=True,
                    dashboard_address=None,
                )
            self._client = Client(self._local or self.where, timeout=timeout)
        except (OSError, TimeoutError, ValueError) as error:
            reason = (str(error).splitlines() or [type(error).__name__])[0]
            raise ResultError(
                f"{self.where}: no scheduler answers there ({reason}); start one with "
                "dask scheduler, and workers with dask worker"
            ) from None

    def _disconnect(self) -> None:
        for item in (self._client, self._local):
            if item is not None:
                try:
                    item.close(timeout=5.0)
                except (OSError, TimeoutError, RuntimeError):
                    continue
        self._client = self._local = None


def trace_piece(
    compiled: Compiled, seed: int, shift: int, piece: range
) -> tuple[Counts, Maps, list[int]]:
    """Trace histories, on a worker; return rows from their first batch on, maps, those lost."""
    worker = Worker(compiled, seed)
    batches = (piece[-1] >> shift) - (piece[0] >> shift) + 1
    rows = np.zeros((batches, compiled.row_width), dtype=np.int64)
    worker.trace(piece[0], len(piece), shift, rows)
    return rows, worker.maps, worker.lost


def trace_on_cluster(
    scene: Scene,
    photons: int,
    seed: int,
    cluster: Cluster,
    *,
    resume: Resume = None,
    save_to: str | PathLike[str] | None = None,
    guide: Guiding = "auto",
) -> Result:
    """Trace `photons` histories on a cluster; the same result as engine.trace gives.

    With `save_to` the result is saved after every round of pieces, four minutes or less: no more is
    lost if this process is killed. `resume` and `guide` as in engine.trace.
    """
    with nullcontext() if save_to is None else sole_writer(save_to):
        scene = validated(scene)
        asked = named_guide(guide)
        earlier = earlier_result(resume, save_to, Compiled(scene), seed, asked)
        (guided_by,) = guides_of([earlier or scene], seed, asked)
        rule = StopRule(photons).with_guide(guided_by)
        record = Record(Compiled(scene, guided_by), seed, "cpu", 1, earlier)
        told = resume == "saved" and earlier is None
        return _traced(record, record.exact(rule.most_photons), cluster, save_to, told)


def _traced(
    record: Record,
    photons: int,
    cluster: Cluster,
    save_to: str | PathLike[str] | None,
    told: bool,
) -> Result:
    at_once = PIECES_PER_CORE * cluster.cores
    while record.photons < photons:
        began = time.perf_counter()
        # A round ends with all pieces below a history number done, and so with something to save.
        first, end = record.photons, min(record.photons + MOST_PIECE_PHOTONS * at_once, photons)
        size, shift = -(-(end - first) // at_once), batch_shift(end)
        pieces = [range(start, min(start + size, end)) for start in range(first, end, size)]
        traced = partial(trace_piece, record.compiled, record.seed, shift)
        record.rows.make_room(end)
        for place, (rows, maps, lost) in cluster.run(traced, pieces):
            record.rows.add(pieces[place][0], rows)
            record.keep(maps, lost)
        record.seconds["trace"] += time.perf_counter() - began
        if save_to is not None and end < photons:
            save_traced(record.result("partial", "still running"), save_to, told)
    result = record.result("complete", f"photon count {record.photons:,}")
    if save_to is not None:
        save_traced(result, save_to, told)
    return result
