"""What of the kernel the engine calls on a processor; numba is imported only to compile it."""

from __future__ import annotations

from functools import cache
from typing import Any

from photonsim.kernel import codes
from photonsim.kernel.entry import Entry


def range_tracer(traits: int) -> Entry:
    """Return what traces ranges of histories of a program of such traits."""
    guided = "guided_" if traits & codes.GUIDED else ""
    return _entry(f"trace_{_sort(traits) or guided}range")


def path_tracer(traits: int) -> Entry:
    """Return what traces histories of a program of such traits and writes their paths."""
    return _entry(f"trace_{_sort(traits)}paths")


def _sort(traits: int) -> str:
    if traits & codes.POLARISED:
        return "polarised_"
    return "plate_" if traits & 1 << codes.LIGHT_PLATE else ""


@cache
def _entry(name: str) -> Entry:
    def find() -> Any:
        from photonsim.kernel import tally

        return getattr(tally, name)

    return Entry(name, find)
