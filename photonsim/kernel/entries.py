"""What of the kernel the engine calls on a processor; numba is imported only to compile it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from photonsim.kernel.entry import Entry


def _of_tally(name: str) -> Callable[[], Callable[..., None]]:
    def find() -> Any:
        from photonsim.kernel import tally

        return getattr(tally, name)

    return find


trace_range = Entry("trace_range", _of_tally("trace_range"))
trace_guided_range = Entry("trace_guided_range", _of_tally("trace_guided_range"))
trace_path = Entry("trace_path", _of_tally("trace_path"))
