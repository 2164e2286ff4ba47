"""Races whose looks are written by hand: boundaries of published tables, and false alarms counted.

A journal that holds every look already decides a race with nothing traced.
"""

import itertools

import numpy as np
import pytest

from photonsim.results import FIGURES
from photonsim.studies.comparing.race import RaceRule, race
from photonsim.studies.journal import Journal
from tests.chance import assert_proportion, assert_proportion_at_least

FIGURE = "collected_lm"


def run(designs, most_photons, values, sense=1):
    """Race designs whose figures at every look are given, [looks, designs].

    Every difference has the standard error 1, from as many batches as one likes.
    """
    rule = RaceRule(FIGURE, most_photons, sense=sense)
    journal = Journal(None, {})
    for photons, row in zip(rule.looks, values, strict=True):
        changes = [
            [one, other, row[one] - row[other], 1.0, None, 0.0]
            for one, other in itertools.combinations(range(designs), 2)
        ]
        records = {
            str(k): {
                "photons": photons,
                "figures": {name: [v if name == FIGURE else 1.0, 1.0, None] for name in FIGURES},
            }
            for k, v in enumerate(row)
        }
        journal.add(f"look at {photons}", {"changes": changes, "records": records})
    return race([f"design {k}" for k in range(designs)], rule, None, journal)


# Two-sided 5 % of the normal law, and 5 % over 3 and over 6 pairs (0.8333 % and 0.41667 % in each
# tail: normal tables); two evenly spaced looks at 5 % (Pocock, Biometrika 64, 191 (1977), table 1:
# from memory).
BOUNDARIES = [(2, 1, 1.960), (3, 1, 2.394), (4, 1, 2.638), (2, 2, 2.178)]


@pytest.mark.parametrize(("designs", "looks", "boundary"), BOUNDARIES)
def test_a_design_falls_out_beyond_the_published_boundary(designs, looks, boundary):
    for z, falls in ((boundary - 0.01, False), (boundary + 0.01, True)):
        last = [z / 2.0] * (designs - 2) + [z, 0.0]
        values = [[0.0] * designs] * (looks - 1) + [last]
        outcome = run(designs, (1 << 15) * 2 ** (looks - 1), values)
        assert (designs - 1 in outcome.losses) == falls


def test_equal_designs_are_told_apart_as_seldom_as_stated():
    """Four designs that differ in luck alone, six pairs, four looks: 5 % of races at most."""
    rng = np.random.default_rng(12)
    looks = np.array([1.0, 2.0, 4.0, 8.0])
    races, alarms = 2000, 0
    for _ in range(races):
        steps = rng.normal(size=(4, 4)) * np.sqrt(np.diff((0.0, *looks)))[:, None]
        # A difference of two has the variance 2; over its error its own is 1.
        values = np.cumsum(steps, axis=0) / np.sqrt(2.0 * looks)[:, None]
        alarms += bool(run(4, 1 << 18, values.tolist()).losses)
    assert_proportion_at_least(races - alarms, races, 0.95, what="races without a false alarm")
    # And no more careful than they must be: six pairs of four designs are not independent, which
    # leaves some 3 % of the 5 (the studentised range of four, one look: 4.0 %).
    assert_proportion_at_least(alarms, races, 0.02, what="races with a false alarm")


def test_two_designs_use_up_their_odds():
    """With one pair nothing is shared: the odds are the stated ones themselves."""
    rng = np.random.default_rng(13)
    races = 4000
    alarms = sum(bool(run(2, 1 << 15, [[float(z), 0.0]]).losses) for z in rng.normal(size=races))
    assert_proportion(alarms, races, 0.05, what="false alarms")


def test_the_least_wins_where_the_least_is_raced_for():
    most = run(3, 1 << 15, [[9.0, 1.0, 5.0]])
    least = run(3, 1 << 15, [[9.0, 1.0, 5.0]], sense=-1)
    assert (most.winner, least.winner) == (0, 1)
    assert list(most.table["design"].values) == ["design 0", "design 2", "design 1"]
    assert list(least.table["design"].values) == ["design 1", "design 2", "design 0"]
