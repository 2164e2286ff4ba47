"""Repeated looks do not inflate false alarms: against a published table, and by simulation."""

import numpy as np
import pytest

from photonsim.results import Estimate
from photonsim.studies.comparing.sequential import (
    boundary_for,
    doubling_looks,
    false_alarm_odds,
    z_of,
)
from tests.chance import assert_proportion

# Pocock (1977), table 1: two-sided 5 % and evenly spaced looks (from memory; also in Jennison and
# Turnbull, Group Sequential Methods, 2000, table 2.1).
POCOCK = {1: 1.960, 2: 2.178, 3: 2.289, 4: 2.361, 5: 2.413, 10: 2.555}


@pytest.mark.parametrize(("looks", "constant"), POCOCK.items())
def test_boundary_is_pococks(looks: int, constant: float) -> None:
    assert boundary_for(0.05, tuple(range(1, looks + 1))) == pytest.approx(constant, abs=6e-4)


def test_odds_fall_with_the_boundary_and_invert_it() -> None:
    looks = doubling_looks(1 << 20)
    odds = [false_alarm_odds(c, looks) for c in (1.5, 2.0, 2.5, 3.0, 4.0)]
    assert odds == sorted(odds, reverse=True)
    assert false_alarm_odds(boundary_for(0.01, looks), looks) == pytest.approx(0.01, abs=1e-9)


def test_walks_without_drift_cross_as_often_as_stated() -> None:
    looks = doubling_looks(1 << 20)
    boundary = boundary_for(0.05, looks)
    rng = np.random.default_rng(20)
    steps = rng.normal(size=(20_000, len(looks))) * np.sqrt(np.diff((0, *looks)))
    z = np.abs(np.cumsum(steps, axis=1)) / np.sqrt(looks)
    crossed = int((z >= boundary).any(axis=1).sum())
    assert_proportion(crossed, 20_000, 0.05, odds=1e-3, what="walks that cross")


def test_few_batches_count_for_less() -> None:
    assert z_of(Estimate(2.0, 1.0)) == 2.0
    # Student's t: 2.0 with 10 degrees has the tail of 1.80 (t tables: P(t10 > 1.812) = 0.05).
    assert z_of(Estimate(1.812, 1.0, 10)) == pytest.approx(1.645, abs=1e-3)
    assert z_of(Estimate(-1.812, 1.0, 10)) == pytest.approx(-1.645, abs=1e-3)
    assert z_of(Estimate(0.0, 0.0)) == 0.0
    assert z_of(Estimate(1.0, float("nan"))) == 0.0
