"""What is said when a result cannot be read, written or continued, or a request makes no sense."""

from __future__ import annotations

import operator

from photonsim.arrays import Whole


class ResultError(Exception):
    """A result file or a request that cannot be met; str() is a sentence for a person."""


def whole_number(what: str, value: Whole, low: int, high: int) -> int:
    """Return a count, also given as 1e6 or one of numpy's. Raises ResultError for anything else."""
    try:
        number = int(value) if isinstance(value, float) else operator.index(value)
        sound = number == value and not isinstance(value, bool)
    except (TypeError, ValueError, OverflowError):
        sound = False
    if not (sound and low <= number <= high):
        bounds = f"from {low} to {high:.0e}" if high > 1_000_000 else f"from {low} to {high}"
        raise ResultError(f"{what} = {value!r}: must be a whole number {bounds}")
    return number
