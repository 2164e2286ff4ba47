"""What must be told with a result, wherever it is told, lest its figures mislead."""

from __future__ import annotations

import math

from photonsim.results.figure_names import figure_named
from photonsim.results.picture.stop import uncounted
from photonsim.results.remarks.laws import outdated
from photonsim.results.result import Result

# Photons are given up where a history goes wrong or never ends (program.fates). Up to 5 in a
# million are in a box of perfect mirrors; from 1 in 10,000 on they could move a figure of 1 % by a
# hundredth of itself, and it must be told.
MOST_GIVEN_UP = 1e-4
# Above, collected light is less sure than without a guide, by a tenth and more of its variance; a
# guide of its own makes it 0.04 to 0.4.
MOST_WEIGHT = 1.1


def given_up(result: Result) -> float:
    """Return the share of the emitted light that was given up, and of which nothing is known."""
    lost = sum(fate.photons for fate in result.fates if fate.group == "guard")
    return lost / max(result.photons, 1)


def mean_weight(result: Result) -> float:
    """Return the mean weight, in emitted photons, that its guide gave the collected light.

    The variance of the collected light is so many times that of a run without a guide: at most 2.
    Light that the panel weighs by its polarisation is weighed so in either.
    """
    guide, emission = result.tallies.guide, result.tallies.emission
    return 1.0 if guide is None or not emission.any() else 1.0 / guide.gain_for(emission)


def reach_of_given_up(result: Result, name: str) -> float:
    """Return by how much a figure could be off if the light given up had gone where it tells most.

    A share of the emitted light by the share given up; collected lumens by what that would give,
    all of it collected. Of other figures, such as uniformity, nothing can be said from
    MOST_GIVEN_UP on: infinite; below, they are taken as they are. Raises ResultError for no figure.
    """
    share = given_up(result)
    if share == 0.0:
        return 0.0
    figure = figure_named(name)
    if figure.name == "collected_lm":
        return share * result.optics.flux_lm * result.optics.transmittance
    if figure.of_emitted:
        return share
    return math.inf if share > MOST_GIVEN_UP else 0.0


def caveats(result: Result) -> tuple[str, ...]:
    """Return sentences that belong beside the figures of a result; of a sound one, none."""
    told, share = [], given_up(result)
    if share > MOST_GIVEN_UP:
        collected = result.estimate("collected_fraction").value
        told.append(
            f"WARNING: {100.0 * share:.2g} % of the light was given up, mostly after thousands of "
            f"surfaces that absorbed little, and {100.0 * collected:.2g} % was collected; the "
            "figures may be wrong by as much. Let walls and parts absorb what real ones do."
        )
    told += outdated(result)
    if why := uncounted(result):
        told.append(
            f"how full the stop is and what a smaller one would leave were {why}, and where 80 % "
            "of the light lies only coarsely: trace it anew to know them"
        )
    guide, weight = result.tallies.guide, mean_weight(result)
    if guide is not None and weight > MOST_WEIGHT:
        told.append(
            f"its collected light is as sure as from {100.0 / weight:.0f} % of the photons without "
            f"a guide, since that of the {guide.origin} suits it badly; see --guide"
        )
    return tuple(told)
