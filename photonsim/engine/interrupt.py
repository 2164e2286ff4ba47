"""Ctrl-C and the system's request to end: finish what is under way, save, stop."""

from __future__ import annotations

import signal
import threading
from types import FrameType, TracebackType
from typing import Any


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

    def _note(self, number: int, frame: FrameType | None) -> None:
        if self.noted:
            raise KeyboardInterrupt
        self.noted = "interrupted (Ctrl-C)" if number == signal.SIGINT else "asked to end (SIGTERM)"
