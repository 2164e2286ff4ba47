"""Limits must hold the truth as often as they claim, and say so where readings cannot tell.

The model here is a formula, so that hundreds of fits take seconds; test_fit.py has the traced lamp.
"""

import numpy as np
import pytest
from scipy import stats

from photonsim.studies.fitting.likelihood import Data, maximise
from tests.chance import assert_proportion

PLACES = np.linspace(0.0, 1.0, 12)
NONE = np.full(len(PLACES), -1)


def decay(parameters):
    """Light falling off along a guide over a constant level: bent in one parameter."""
    level, rate = parameters
    return level * np.exp(-rate * PLACES) + 30.0, np.zeros_like(PLACES)


def covered(fits, confidence, seed, noise=0.0):
    """Return how often the limits of both parameters held the truth, in so many noisy trials."""
    truth = np.array([1000.0, 2.0])
    true_light = decay(truth)[0]
    errors = 0.05 * true_light
    random = np.random.default_rng(seed)
    held = np.zeros(2, dtype=int)
    for _ in range(fits):
        # A traced model is off by its own counting noise, the same at every parameter.
        luck = noise * true_light * random.normal(size=len(PLACES))

        def model(parameters, luck=luck):
            return decay(parameters)[0] + luck, np.full(len(PLACES), noise) * true_light

        readings = true_light + errors * random.normal(size=len(PLACES))
        found = maximise(
            model, Data(readings, errors, NONE), [700.0, 1.0], [(200, 3000), (0.2, 6)], confidence
        )
        held += (found.low <= truth) & (truth <= found.high)
    return held


def test_limits_hold_the_truth_as_often_as_they_claim():
    fits = 100
    for hits in covered(fits, 0.90, seed=11, noise=0.05):
        assert_proportion(int(hits), fits, 0.90, what="covered at 90 %")


@pytest.mark.long
def test_limits_hold_the_truth_as_often_as_they_claim_sharper():
    for confidence in (0.68, 0.95):
        for hits in covered(600, confidence, seed=12, noise=0.03):
            assert_proportion(int(hits), 600, confidence, what=f"covered at {confidence}")


def test_straight_line_has_the_textbook_limits():
    """Weighted least squares for a line: Bevington and Robinson, Data Reduction, eqs. 6.12, 6.23.

    From memory; the same sums written out.
    """
    errors = np.full(len(PLACES), 0.2)
    readings = 1.0 + 3.0 * PLACES + errors * np.random.default_rng(4).normal(size=len(PLACES))
    found = maximise(
        lambda p: (p[0] + p[1] * PLACES, np.zeros_like(PLACES)),
        Data(readings, errors, NONE),
        [0.0, 0.0],
        [(-10.0, 10.0), (-10.0, 10.0)],
    )
    s, sx, sxx = (np.sum(PLACES**k / errors**2) for k in range(3))
    sy, sxy = (np.sum(PLACES**k * readings / errors**2) for k in range(2))
    scale = s * sxx - sx**2
    assert found.best == pytest.approx(
        [(sxx * sy - sx * sxy) / scale, (s * sxy - sx * sy) / scale], abs=1e-4
    )
    errors_of_both = np.sqrt([sxx / scale, s / scale])
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx(errors_of_both, rel=1e-3)
    reach = stats.norm.ppf(0.975) * errors_of_both
    assert found.high - found.best == pytest.approx(reach, rel=1e-2)
    assert found.best - found.low == pytest.approx(reach, rel=1e-2)


def test_unknown_scale_is_found_and_costs_what_it_must():
    errors = np.full(len(PLACES), 0.5)
    light = 0.37 * decay([1000.0, 2.0])[0]
    found = maximise(
        lambda p: decay([1000.0, p[0]]),
        Data(light, errors, np.zeros(len(PLACES), dtype=int)),
        [1.0],
        [(0.2, 6.0)],
    )
    assert found.factors[0] == pytest.approx(0.37, rel=1e-3)
    assert found.best[0] == pytest.approx(2.0, rel=1e-3)
    assert found.degrees == len(PLACES) - 2


def test_two_numbers_that_only_their_product_shows():
    errors = np.full(len(PLACES), 0.02)
    found = maximise(
        lambda p: (p[0] * p[1] * (1.0 + PLACES), np.zeros_like(PLACES)),
        Data(0.5 * (1.0 + PLACES), errors, NONE),
        [0.6, 0.7],
        [(0.1, 1.0), (0.1, 1.0)],
    )
    assert found.correlation[0, 1] < -0.95
    assert found.best[0] * found.best[1] == pytest.approx(0.5, rel=0.02)


def test_a_number_without_effect_gets_no_limits():
    found = maximise(
        lambda p: (p[0] + 0.0 * p[1] + PLACES, np.zeros_like(PLACES)),
        Data(1.0 + PLACES, np.full(len(PLACES), 0.1), NONE),
        [0.5, 0.5],
        [(0.0, 2.0), (0.0, 1.0)],
    )
    assert found.unlimited == ((False, False), (True, True))
    assert (found.low[1], found.high[1]) == (0.0, 1.0)
