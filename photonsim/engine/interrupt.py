"""Ctrl-C and the system's request to end: finish what is under way, save, stop."""

from __future__ import annotations

import signal
import sys
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, wait
from types import FrameType, TracebackType
from typing import Any, TypeVar

# A warm start takes less; longer than this the compiler must be at work.
SILENT_SECONDS = 2.0
COMPILING = "compiling the tracer, once: half a minute, or a whole for polarised light"
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

    def wait_for(
        self, work: Callable[[], Outcome], meanwhile: Callable[[], object] | None = None
    ) -> Outcome:
        """Return the outcome of work that may first have the kernel compiled; say so if it does.

        Something else may be done `meanwhile`, for which the work does not wait.

        It is done in a thread of its own, since the compiler does not let go of one for many
        seconds: a request to end raises KeyboardInterrupt at once.
        """
        start, silent = time.perf_counter(), True
        outcome: Future[Outcome] = Future()

        def at_work() -> None:
            try:
                outcome.set_result(work())
            except BaseException as error:  # told in the thread that waits for this one
                outcome.set_exception(error)

        thread = threading.Thread(target=at_work, daemon=True)
        thread.start()
        if meanwhile is not None:
            meanwhile()
        while not outcome.done():
            if self.noted:
                raise KeyboardInterrupt(self.noted)
            if silent and time.perf_counter() - start > SILENT_SECONDS:
                silent = False
                print(COMPILING, file=sys.stderr, flush=True)
            wait([outcome], 0.1)
        thread.join()
        return outcome.result()

    def _note(self, number: int, frame: FrameType | None) -> None:
        if self.noted:
            raise KeyboardInterrupt
        self.noted = "interrupted (Ctrl-C)" if number == signal.SIGINT else "asked to end (SIGTERM)"
