"""Labels that do not overlap: flags on poles above a drawing, each to the right of its own pole."""

from __future__ import annotations

from collections.abc import Sequence


def tiers(places: Sequence[float], widths: Sequence[float], gap: float) -> list[int]:
    """Return the tier, 0 the lowest, of a flag at each of rising places, all in one unit.

    Taken from the right, a flag goes to the lowest tier where it ends a gap before every flag that
    already flies there or higher, since the poles of the higher ones pass through. Its own pole
    passes left of all flags below. So neither texts nor poles cross.
    """
    # The place of the leftmost flag in each tier or higher, by tier.
    limits: list[float] = []
    found = [0] * len(places)
    for index in reversed(range(len(places))):
        end = places[index] + widths[index] + gap
        tier = next((t for t, limit in enumerate(limits) if end <= limit), len(limits))
        if tier == len(limits):
            limits.append(places[index])
        for lower in range(tier + 1):
            limits[lower] = places[index]
        found[index] = tier
    return found
