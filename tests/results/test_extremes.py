"""The least of noisy readings: why a plain minimum is too low, and how far the mend reaches.

Readings are made up: a truth, normal noise of a covariance. The figure's own error is worked out as
the program does, over shifts of the readings by as much as their noise.
"""

import numpy as np
import pytest
from scipy import integrate, stats

from photonsim.results.panel import extremes
from photonsim.results.panel.extremes import farthest, least, least_over_most, most
from photonsim.results.panel.structure import strongest
from tests.chance import assert_coverage, assert_mean

RUNS = 4000
NINE = np.eye(9)
# Nine readings over their mean, which they draw along.
OVER_MEAN = NINE - 1.0 / 9.0


def test_the_least_of_nine_normal_values_is_1_485_errors_low_on_average():
    """Order statistics: E = integral of n x f(x) (1 - F(x))**(n - 1); -1.48501 in tables
    (Teichroew, Ann. Math. Stat. 27, 410 (1956): from memory)."""
    expected, _ = integrate.quad(
        lambda x: 9.0 * x * stats.norm.pdf(x) * stats.norm.sf(x) ** 8, -10.0, 10.0
    )
    assert expected == pytest.approx(-1.48501, abs=1e-5)
    readings = np.random.default_rng(1).normal(size=(40_000, 9))
    assert_mean(readings.min(axis=1), expected, what="plain minimum")
    assert abs(least(readings, NINE).mean()) < 0.3


def truths():
    """Return truths by name: readings as lamps have them, and single odd ones."""
    steps = np.array([-1.0, 0.0, 1.0])
    hill = 2.0 - steps[:, None] ** 2 - steps[None, :] ** 2
    long_hill = 1.3 - steps[:, None] ** 2 - 0.3 * steps[None, :] ** 2
    found = {"all equal": np.zeros(9)}
    for gap in (0.3, 1.0, 3.0, 10.0):
        found |= {
            f"one below by {gap:g}": np.array([0.0] + [gap] * 8),
            f"two below by {gap:g}": np.array([0.0] * 2 + [gap] * 7),
            f"four below by {gap:g}": np.array([0.0] * 4 + [gap] * 5),
            f"one above by {gap:g}": np.array([gap] + [0.0] * 8),
            f"a slope of {gap:g}": np.linspace(0.0, gap, 9),
            f"a hill of {gap:g}": gap * hill.ravel(),
            f"a long hill of {gap:g}": gap * long_hill.ravel(),
        }
    return found


def judge(function, truth, covariance, expected, seed=2):
    """Fail where the bias is above 0.3 stated errors or these not 0.8 to 1.3 of the scatter."""
    rng = np.random.default_rng(seed)
    noise = rng.multivariate_normal(np.zeros_like(truth), covariance, RUNS + 64)
    runs, shifts = truth + noise[:RUNS], np.concatenate([noise[RUNS:], -noise[RUNS:]])
    stated = [function(run + shifts, covariance).std() for run in runs[:400]]
    stated_error = np.full(RUNS, np.sqrt(np.mean(np.square(stated))))
    assert_coverage(function(runs, covariance), stated_error, expected, what=function.__name__)


@pytest.mark.parametrize("covariance", [NINE, OVER_MEAN], ids=["apart", "over their mean"])
@pytest.mark.parametrize("name", truths())
def test_least_of_made_up_readings(name, covariance):
    truth = truths()[name]
    judge(least, truth, covariance, truth.min())


def test_own_noise_is_taken_off_whole_whatever_readings_have_in_common(monkeypatch):
    """Of equal readings a choice by their own noise alone must be worth nothing: Stein's lemma."""
    monkeypatch.setattr(extremes, "OWN_NOISE", 1.0)
    rng = np.random.default_rng(7)
    mixed = rng.normal(size=(4, 4))
    covariance = mixed @ mixed.T
    readings = rng.multivariate_normal(np.zeros(4), covariance, 200_000)
    assert_mean(least(readings, covariance), 0.0, what="least of equal readings")


@pytest.mark.parametrize("gap", [1.5, 2.0])
def test_one_place_that_stands_alone_below_eight_equal_ones_is_the_worst_case(gap):
    """Here the limit of 0.3 errors is not kept, and no lamp that is alike left and right is so."""
    readings = np.array([0.0] + [gap] * 8) + np.random.default_rng(3).normal(size=(20_000, 9))
    found = least(readings, NINE)
    assert 0.3 < found.mean() / found.std() < 0.4


NINE_OF_F = np.array([0.894, 1.134, 0.894, 0.962, 1.229, 0.962, 0.894, 1.134, 0.894])
NINE_OF_D = np.array([0.970, 1.050, 0.967, 0.976, 1.073, 0.979, 0.970, 1.050, 0.966])


@pytest.mark.parametrize("error", [0.01, 0.025, 0.05])
@pytest.mark.parametrize("nine", [NINE_OF_F, NINE_OF_D], ids="fd")
def test_figures_of_readings_as_lamps_have_them(nine, error):
    covariance = np.diag(error**2 * nine)
    judge(least_over_most, nine, covariance, nine.min() / nine.max())
    judge(most, nine, covariance, nine.max())
    for corner in (0.44, 0.72):
        thirteen = np.append(nine, [corner] * 4)
        judge(farthest, thirteen - 1.0, np.diag(error**2 * thirteen), 1.0 - corner)


@pytest.mark.parametrize("photons", [5_000, 50_000, 500_000])
@pytest.mark.parametrize("strip", [0.2, 0.3, 0.4, 0.9])
def test_least_of_readings_with_unlike_errors(strip, photons):
    """The rim: edges are a 32nd of the light, corners an 81st, with errors by the count."""
    rim = np.array([strip, strip, 0.9, 0.9, 0.4, 0.4, 0.4, 0.4])
    variances = rim * np.array([32.0] * 4 + [81.0] * 4) / photons
    judge(least, rim, np.diag(variances), rim.min())


def test_readings_without_noise_give_the_plain_extremes():
    readings = np.array([[0.9, 1.0, 1.25], [0.9, 0.9, 1.5]])
    none = np.zeros((3, 3))
    assert least(readings, none) == pytest.approx([0.9, 0.9])
    assert most(readings, none) == pytest.approx([1.25, 1.5])
    assert least_over_most(readings, none) == pytest.approx([0.72, 0.6])
    assert farthest(readings - 1.0, none) == pytest.approx([0.25, 0.5])


def test_order_of_the_readings_does_not_matter():
    rng = np.random.default_rng(5)
    readings, covariance = rng.normal(size=(50, 9)), np.diag(rng.uniform(0.2, 2.0, 9))
    turned = rng.permutation(9)
    np.testing.assert_allclose(
        least(readings[:, turned], covariance[np.ix_(turned, turned)]),
        least(readings, covariance),
        rtol=1e-12,
    )


@pytest.mark.parametrize("other", [None, 0.0, 1.0, 3.0])
@pytest.mark.parametrize("depth", [0.0, 0.5, 1.0, 2.0, 5.0])
def test_structure_of_made_up_waves(depth, other):
    """Amplitudes in errors, along one axis or two, from none that can be seen to a plain one."""
    truth = np.array([depth, 0.0] if other is None else [depth, 0.0, 0.0, other])
    judge(strongest, truth, np.eye(len(truth)), max(depth, other or 0.0))
