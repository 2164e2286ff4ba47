"""Printed figures are as sure as they say: bias and stated error over many seeds, on four lamps.

The limits are those of assert_coverage, 0.3 stated errors and 0.8 to 1.3 times the scatter. A right
program fails all verdicts of the short form together once in 1,000 choices of seeds, and those of
the long form likewise.
"""

import functools

import pytest

from tests.results.coverage import (
    EXTREMES,
    FIGURES,
    FILLINGS,
    FORETOLD,
    LAMPS,
    SPOTS,
    SUMS,
    covered,
    extremes_of,
)

ODDS = 1e-3
# Figures that are held to the limits.
JUDGED = (*SUMS, *EXTREMES, *SPOTS, *FILLINGS, *FORETOLD)
SHORT, LONG = [1 << 17], [1 << 17, 1 << 20]


@functools.cache
def found(lamp, photons, seeds, most_photons):
    figures = {name: FIGURES[name] for name in JUDGED}
    known = {}
    if photons < most_photons:
        known = extremes_of(list(found(lamp, most_photons, seeds, most_photons).values()))
    runs = covered(lamp, photons, seeds, figures, many=seeds // 2, threads=1, known=known)
    return {one.name: one for one in runs}


@pytest.mark.parametrize("name", JUDGED)
@pytest.mark.parametrize("photons", SHORT)
@pytest.mark.parametrize("lamp", LAMPS)
def test_figures_are_as_sure_as_they_say(lamp, photons, name):
    odds = ODDS / (len(LAMPS) * len(SHORT) * len(JUDGED))
    found(lamp, photons, 60, max(SHORT))[name].judge(odds)


@pytest.mark.long
@pytest.mark.parametrize("name", JUDGED)
@pytest.mark.parametrize("photons", LONG)
@pytest.mark.parametrize("lamp", LAMPS)
def test_figures_are_as_sure_as_they_say_over_400_seeds(lamp, photons, name):
    odds = ODDS / (len(LAMPS) * len(LONG) * len(JUDGED))
    found(lamp, photons, 400, max(LONG))[name].judge(odds)
