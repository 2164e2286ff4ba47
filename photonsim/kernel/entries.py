"""What of the kernel the engine calls on a processor; numba is imported only to compile it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from photonsim.kernel import codes
from photonsim.kernel.entry import Entry


def _of_tally(name: str) -> Callable[[], Callable[..., None]]:
    def find() -> Any:
        from photonsim.kernel import tally

        return getattr(tally, name)

    return find


trace_range = Entry("trace_range", _of_tally("trace_range"))
trace_guided_range = Entry("trace_guided_range", _of_tally("trace_guided_range"))
trace_plate_range = Entry("trace_plate_range", _of_tally("trace_plate_range"))
trace_polarised_range = Entry("trace_polarised_range", _of_tally("trace_polarised_range"))
trace_path = Entry("trace_path", _of_tally("trace_path"))
trace_plate_path = Entry("trace_plate_path", _of_tally("trace_plate_path"))
trace_polarised_path = Entry("trace_polarised_path", _of_tally("trace_polarised_path"))


def range_tracer(traits: int) -> Entry:
    """Return what traces ranges of histories of a program of such traits."""
    if traits & codes.POLARISED:
        return trace_polarised_range
    if traits & 1 << codes.LIGHT_PLATE:
        return trace_plate_range
    return trace_guided_range if traits & codes.GUIDED else trace_range


def path_tracer(traits: int) -> Entry:
    """Return what traces one history of a program of such traits and writes its path."""
    if traits & codes.POLARISED:
        return trace_polarised_path
    return trace_plate_path if traits & 1 << codes.LIGHT_PLATE else trace_path
