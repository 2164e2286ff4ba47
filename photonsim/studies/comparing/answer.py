"""What a comparison comes to, in words: which design is best, by how much, and at what price."""

from __future__ import annotations

import math
from dataclasses import replace

from photonsim.results import FIGURES, Estimate
from photonsim.results.estimate import decimal_places
from photonsim.studies.comparing.compare import FALSE_ALARM, RANKED_BY, Comparison, Design
from photonsim.studies.comparing.paired import difference, ratio

# What more light may cost.
PRICES = ("darkest_edge", "blur", "structure")
# From here on people say 'so many times as much' rather than per cent.
MANY = 2.0
DIGITS = 3


def answer(comparison: Comparison) -> list[str]:
    """Return the outcome in paragraphs; none of a single design."""
    best, *others = comparison.designs
    if not others:
        return []
    alike = rivals(comparison)
    light = best.result.estimate(RANKED_BY).text(1.0, "lm")
    if alike:
        names = ", ".join(f"'{other.label}'" for other in alike)
        lead = f"Most light: '{best.label}', {light}, but it may be luck that it leads {names}: "
        return [lead + "trace more photons (--photons), or let `photonsim race` decide."]
    words = f"Most light: '{best.label}', {light}, {_lead(best, others[0])}"
    other = others[0] if best is comparison.reference else comparison.reference
    if other is not others[0]:
        words += f", and {_lead(best, other)}"
    return [f"{words}.{_price(best, other)}"]


def rivals(comparison: Comparison) -> list[Design]:
    """Return the designs that only luck may have kept behind the best."""
    best, *others = comparison.designs
    pairs = math.comb(len(comparison.designs), 2)
    return [
        other
        for other in others
        if not comparison.is_real(difference(best.result, other.result, RANKED_BY), pairs)
    ]


def _lead(best: Design, other: Design) -> str:
    """Say by how much a design leads, with the error; the lead is real."""
    found = ratio(best.result, other.result, RANKED_BY)
    if math.isnan(found.value):
        return f"where '{other.label}' has none"
    if found.value >= MANY:
        return f"{found.text()} times as much as '{other.label}'"
    more = replace(found, value=found.value - 1.0)
    return f"{more.text(100.0, '%')} more than '{other.label}'"


def _price(best: Design, other: Design) -> str:
    """Say in which figures the best design is worse than another, beyond luck."""
    told = []
    for name in PRICES:
        figure = FIGURES[name]
        change = difference(best.result, other.result, name)
        worse = figure.better * change.value < 0.0
        if worse and change.error > 0.0 and change.chance_of_zero * len(PRICES) < FALSE_ALARM:
            mine, theirs = (
                few_digits(one.result.estimate(name), figure.scale) for one in (best, other)
            )
            told.append(f"{figure.words} ({mine}{figure.unit and ' ' + figure.unit} for {theirs})")
    return f" Against '{other.label}' it is worse in {' and '.join(told)}." if told else ""


def change_words(comparison: Comparison, design: Design, change: Estimate | None) -> str:
    """Return a design's light against the reference's: in per cent or times, or luck."""
    if change is None or not comparison.is_real(change):
        return comparison.verdict(change)
    found = ratio(design.result, comparison.reference.result, RANKED_BY)
    if math.isnan(found.value):
        return comparison.verdict(change)
    if found.value >= MANY:
        return f"{few_digits(found)} times"
    less_one = few_digits(replace(found, value=found.value - 1.0), 100.0)
    return f"{less_one if less_one.startswith('-') else '+' + less_one} %"


def few_digits(estimate: Estimate, scale: float = 1.0) -> str:
    """Return a value to the first digit that luck touches, and three digits at most.

    With '± ?' where there were too few photons to know which digit that is.
    """
    value, error = estimate.value * scale, estimate.error * scale
    if math.isnan(value):
        return "too few" if estimate.is_withheld else "n/a"
    if math.isnan(error):
        return estimate.text(scale)
    places = DIGITS - 1 - (math.floor(math.log10(abs(value))) if value else 0)
    if error > 0.0 and math.isfinite(error):
        places = min(places, decimal_places(error) - 1)
    return f"{round(value, places) + 0.0:.{max(places, 0)}f}"
