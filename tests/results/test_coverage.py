"""Printed figures are as sure as they say: bias and stated error over many seeds, on four lamps.

The limits are those of assert_coverage, 0.3 stated errors and 0.8 to 1.3 times the scatter. A right
program fails all verdicts of the short form together once in 1,000 choices of seeds. With such an
allowance 400 seeds would pass a bias of 0.54 and ratios of 0.69 to 1.55. So the long form takes
what it finds: bias is known to 0.05, that of extremes and smaller stops to 0.07, a ratio to 3.5 %.
A figure at 0.1 errors, or at 0.9 or 1.15 times the scatter, fails with odds that
assert_coverage_as_found states; one just at a limit every other time.
"""

import functools
import os

import pytest

from tests.results.coverage import (
    EXTREMES,
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
def found(lamp, photons, seeds, most_photons, many, processes=1):
    known = {}
    if photons < most_photons:
        most = found(lamp, most_photons, seeds, most_photons, many, processes)
        known = extremes_of(list(most.values()))
    # One run of another kind for all counts.
    times = many * most_photons // photons
    runs = covered(lamp, photons, range(1, seeds + 1), JUDGED, times, processes, known)
    return {one.name: one for one in runs}


@pytest.mark.parametrize("name", JUDGED)
@pytest.mark.parametrize("photons", SHORT)
@pytest.mark.parametrize("lamp", LAMPS)
def test_figures_are_as_sure_as_they_say(lamp, photons, name):
    odds = ODDS / (len(LAMPS) * len(SHORT) * len(JUDGED))
    found(lamp, photons, 60, max(SHORT), 30)[name].judge(odds)


@pytest.mark.long
@pytest.mark.parametrize("name", JUDGED)
@pytest.mark.parametrize("photons", LONG)
@pytest.mark.parametrize("lamp", LAMPS)
def test_figures_are_as_sure_as_they_say_over_400_seeds(lamp, photons, name):
    found(lamp, photons, 400, max(LONG), 800, os.cpu_count())[name].judge()
