"""Ctrl-C and the system's request to end, at any moment but while light is traced.

From the first import on a request is met at once: nothing has begun that could not be left. Once a
command is at work it is broken off in order, so that temporary files, locks and other processes go
with it; within an import, which cannot be broken off without leaving half a library, it is met at
once all the same. While light is traced engine/interrupt.py is in charge: there is something to
save.
"""

from __future__ import annotations

import _thread
import contextlib
import functools
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from types import FrameType
from typing import Any, NoReturn

USER_MISTAKE = 2
# By then what tidied up is done.
SOON_S = 0.02
REQUESTS = (signal.SIGINT, signal.SIGTERM)


def at_once(number: int, frame: FrameType | None) -> NoReturn:
    """Say so, take temporary files away and end, with 130 or 143."""
    writing = sys.modules.get("photonsim.results.files.writing")
    for path in list(getattr(writing, "unfinished", ())):
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)
    end(number)


def end(number: int) -> NoReturn:
    """End with the code that a shell gives for a signal, whatever other threads are at.

    Not by sys.exit: a compiler may be at work in a thread, and would be torn down under it.
    """
    with contextlib.suppress(OSError, ValueError, AttributeError, RuntimeError):
        sys.stdout.flush()
    with contextlib.suppress(OSError):
        os.write(2, b"broken off; the last saved state stands\n")
    os._exit(128 + number)


def in_order(number: int, frame: FrameType | None) -> None:
    """Break off what is under way by KeyboardInterrupt; within an import, end at once."""
    while frame is not None:
        if frame.f_code.co_filename.startswith("<frozen importlib"):
            at_once(number, frame)
        frame = frame.f_back
    raise KeyboardInterrupt(signal.Signals(number).name)


def meet_requests() -> None:
    """Meet requests to end from here on."""
    for number in REQUESTS:
        signal.signal(number, at_once)


@contextlib.contextmanager
def broken_off_in_order() -> Iterator[None]:
    """While entered, requests to end are met in order, if they are met here at all."""
    met = [number for number in REQUESTS if signal.getsignal(number) is at_once]
    for number in met:
        signal.signal(number, in_order)
    told = sys.unraisablehook
    if met:
        sys.unraisablehook = functools.partial(_once_more, told)
    try:
        yield
    finally:
        sys.unraisablehook = told
        for number in met:
            signal.signal(number, at_once)


def _once_more(told: Callable[[Any], object], ignored: Any) -> None:
    """Break off again where a request fell into code that may not be broken off, and was lost.

    Python ignores exceptions in what tidies up after objects, and only tells of them here.
    """
    if not issubclass(ignored.exc_type, KeyboardInterrupt):
        told(ignored)
        return
    number = signal.Signals[str(ignored.exc_value) or "SIGINT"]
    again = threading.Timer(SOON_S, _thread.interrupt_main, [number])
    again.daemon = True
    again.start()
