"""Resistors as they are sold: preferred values and power ratings."""

from __future__ import annotations

import math

# The series E24 of IEC 60063; not the rounded powers of 10**(1/24) from 2.7 to 4.7 and at 8.2.
E24 = (
    *(1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0),
    *(3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8, 7.5, 8.2, 9.1),
)
# Watts that small resistors are sold with.
RATINGS_W = (0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 25.0, 50.0, 100.0)
# A resistor at its full rating is too hot to touch and ages fast: half of it is common practice.
USED_SHARE = 0.5


def nearest_preferred(ohm: float) -> float:
    """Return the value of E24 in any decade that is nearest to a resistance by ratio."""
    decade = 10.0 ** math.floor(math.log10(ohm))
    choices = [value * decade for value in (*E24, 10.0)]
    nearest = min(choices, key=lambda choice: abs(math.log(choice / ohm)))
    return float(f"{nearest:.3g}")


def power_rating(watts: float) -> float | None:
    """Return the least rating in watts that is used by half at most; None beyond all of them."""
    return next((rating for rating in RATINGS_W if watts <= USED_SHARE * rating), None)
