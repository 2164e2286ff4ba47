"""Light traced while a slider moves: a thread that does the newest wish of each page first.

What is to be done for a wish is a list of jobs, roughest first. The first of them is never broken
off, so that whoever drags without a pause sees answers all the while; any other ends within
milliseconds when a newer wish comes, and is gone on with if it was another page's.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from photonsim.results import ResultError
from photonsim.scene import SceneError

Stop = Callable[[], bool]
# Does its part of the work and returns what to tell, by kind.
Job = Callable[[Stop], dict[str, Any]]
Tell = Callable[[str, int, dict[str, Any]], None]


class SupersededError(Exception):
    """A job was stopped, since a newer wish came."""


@dataclass
class _Lane:
    """The newest wish of a page, and how many of its jobs are done."""

    number: int
    jobs: Sequence[Job]
    done: int = 0


class Tracing:
    """The thread that traces. `tell` is called from it: page, number of the wish, what came out."""

    def __init__(self, tell: Tell) -> None:
        self._tell = tell
        self._lanes: dict[str, _Lane] = {}
        self._changed = threading.Condition()
        self._is_closed = False
        self._thread = threading.Thread(target=self._work, name="live tracing", daemon=True)
        self._thread.start()

    def want(self, page: str, number: int, jobs: Sequence[Job]) -> None:
        """Take up a page's newest wish; what is left of an older one is dropped."""
        with self._changed:
            self._lanes.pop(page, None)
            self._lanes[page] = _Lane(number, jobs)
            self._changed.notify()

    def close(self) -> None:
        """End the thread, within milliseconds."""
        with self._changed:
            self._is_closed = True
            self._changed.notify()
        self._thread.join(10.0)

    def _is_due(self) -> bool:
        """Tell whether a first answer is waited for. Asked by many threads, without the lock."""
        return self._is_closed or any(not lane.done for lane in tuple(self._lanes.values()))

    def _next(self) -> tuple[str, _Lane] | None:
        """Return what to do next: first answers as they were asked for, then the roughest one."""
        open_ones = [
            (page, lane) for page, lane in self._lanes.items() if lane.done < len(lane.jobs)
        ]
        return min(open_ones, key=lambda item: item[1].done, default=None)

    def _work(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._is_closed or self._next())
                found = self._next()
            if self._is_closed or found is None:
                return
            page, lane = found
            try:
                told = lane.jobs[lane.done](self._is_due if lane.done else lambda: False)
            except SupersededError:
                continue
            except (ResultError, SceneError, ArithmeticError, MemoryError, ValueError) as error:
                told, lane.jobs = {"trouble": {"words": str(error)}}, lane.jobs[: lane.done + 1]
            lane.done += 1
            self._tell(page, lane.number, told)
