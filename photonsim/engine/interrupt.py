"""Ctrl-C and the system's request to end: finish what is under way, save, stop."""

from __future__ import annotations

import signal
import sys
import threading
import time
from collections.abc import Callable
from types import FrameType, TracebackType
from typing import Any, TypeVar

# A warm start takes less; longer than this the compiler must be at work.
SILENT_SECONDS = 2.0
Outcome = TypeVar("Outcome")


class Interrupt:
    """While entered, the first SIGINT or SIGTERM is only noted; a second one breaks off at once.

    Outside the main thread, where Python allows no handlers, nothing is changed.
    """

    def __init__(self) -> None:
        self.noted = ""
        self._previous: dict[int, Any] = {}

    def __enter__(self) -> Interrupt:
        if threading.current_thread() is threading.main_thread():
            for number in (signal.SIGINT, signal.SIGTERM):
                self._previous[number] = signal.signal(number, self._note)
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        for number, handler in self._previous.items():
            signal.signal(number, handler)

    def wait_for(self, work: Callable[[], Outcome]) -> Outcome:
        """Return the outcome of work that may first have the kernel compiled; say so if it does.

        It is done in a thread of its own, since the compiler does not let go of one for many
        seconds: a request to end raises KeyboardInterrupt at once.
        """
        start = time.perf_counter()
        outcomes: list[Outcome] = []
        failed: list[Exception] = []

        def at_work() -> None:
            try:
                outcomes.append(work())
            except Exception as error:  # told in the thread that waits for this one
                failed.append(error)

        working = threading.Thread(target=at_work, daemon=True)
        working.start()
        silent = True
        while working.is_alive():
            if self.noted:
                raise KeyboardInterrupt(self.noted)
            if silent and time.perf_counter() - start > SILENT_SECONDS:
                silent = _say_compiling()
            working.join(0.1)
        if failed:
            raise failed[0]
        return outcomes[0]

    def _note(self, number: int, frame: FrameType | None) -> None:
        if self.noted:
            raise KeyboardInterrupt
        self.noted = "interrupted (Ctrl-C)" if number == signal.SIGINT else "asked to end (SIGTERM)"


def _say_compiling() -> bool:
    """Say once that the compiler is at work; return that it is silent no longer."""
    words = "compiling the tracer, once: half a minute, or a whole for polarised light"
    print(words, file=sys.stderr, flush=True)
    return False
