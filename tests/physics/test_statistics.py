"""Errors that are printed hold the truth as often as they claim, over many runs of one scene."""

import numpy as np
import pytest
from scipy import stats

from photonsim.engine import trace
from photonsim.scene import parse_scene
from tests.chance import assert_coverage, assert_fits, assert_mean, assert_proportion_at_least
from tests.physics.tracing import box, emitter, stop, target

RUNS, PHOTONS, HALF_ANGLE_DEG = 300, 1 << 13, 20.0
# Batches are whole blocks of the emission's net, and so independent, from here on.
LONG_RUNS, LONG = 30, 1 << 20
# Lambert's law: sin(t)**2 of the light within t (identity).
TRUTH = np.sin(np.radians(HALF_ANGLE_DEG)) ** 2


def traced(photons, runs, guiding="auto"):
    """Runs of a point lamp before a hole that takes in a cone of 20 degrees."""
    hole = 2.0 * 50.0 * np.tan(np.radians(HALF_ANGLE_DEG))
    scene = parse_scene(box(200.0, 1.0) + emitter() + target(25.0, 200.0, 200.0) + stop(50.0, hole))
    return [trace(scene, photons=photons, seed=seed, guide=guiding) for seed in range(runs)]


@pytest.fixture(scope="module")
def results():
    return traced(PHOTONS, RUNS)


@pytest.fixture(scope="module")
def long_results():
    return traced(LONG, LONG_RUNS)


@pytest.mark.parametrize("guiding", ["off", "auto"])
def test_share_of_few_photons_and_its_binomial_error(guiding):
    # The standard error of a share is sqrt(p (1 - p)/n), with the normal law for intervals
    # (textbooks of statistics: from memory). It is that of independent photons; here all depends on
    # the emission, whose evenness makes the shares far surer than that. With a guide more and
    # lighter photons are collected, so that independent ones would be surer too.
    estimates = [run.estimate("collected_fraction") for run in traced(PHOTONS // 2, RUNS, guiding)]
    assert_mean([estimate.value for estimate in estimates], TRUTH)
    binomial = np.sqrt(TRUTH * (1.0 - TRUTH) / (PHOTONS // 2))
    stated = np.mean([estimate.error for estimate in estimates])
    if guiding == "off":
        assert stated == pytest.approx(binomial, rel=0.01)
    else:
        assert stated < 0.6 * binomial
    within = sum(abs(estimate.value - TRUTH) < 1.96 * estimate.error for estimate in estimates)
    assert_proportion_at_least(within, RUNS, 0.95, what="95 % intervals that hold the truth")


def test_share_and_its_error_from_parts_of_a_block(results):
    # Batches of 256 share the scrambling of a block, which makes up for one what another lacks.
    estimates = [result.estimate("collected_fraction") for result in results]
    assert_mean([estimate.value for estimate in estimates], TRUTH)
    within = sum(abs(estimate.value - TRUTH) < 1.96 * estimate.error for estimate in estimates)
    assert_proportion_at_least(within, RUNS, 0.95, what="95 % intervals that hold the truth")


def test_share_and_its_error_from_whole_blocks(long_results):
    # 128 independent batches: deviations over errors have a mean square of 127/125 (Student's t),
    # and the sum of 30 squares follows chi-square; so skewed is it that t of their mean does not.
    estimates = [result.estimate("collected_fraction") for result in long_results]
    values, errors = np.array([(one.value, one.error) for one in estimates]).T
    expected = np.full(LONG_RUNS, TRUTH)
    assert_fits(values, expected, errors * np.sqrt(127 / 125), odds=1e-4, what="share")
    assert_coverage(values, errors, TRUTH, odds=1e-4, what="share")
    # What the net is for: all is decided by the emission here.
    binomial = np.sqrt(TRUTH * (1.0 - TRUTH) / LONG)
    assert np.mean([estimate.error for estimate in estimates]) < 0.03 * binomial


def test_ratio_and_its_jackknife_error(results):
    # Student's t for the batches of a run (Student, Biometrika 6, 1 (1908)); the delete-one
    # jackknife (Efron 1982, eq. 3.4). Of the light at the panel the share that goes on through the
    # stop has the law of a share too, so the truth is known: sin(t)**2 over what the panel gets.
    seen = [result.estimate("incident_fraction").value for result in results]
    truth = TRUTH / np.mean(seen)
    estimates = [result.estimate("acceptance") for result in results]
    held = [
        abs(estimate.value - truth) < stats.t.ppf(0.975, estimate.degrees) * estimate.error
        for estimate in estimates
    ]
    assert_proportion_at_least(sum(held), RUNS, 0.95, what="95 % intervals by Student's t")


def test_error_falls_with_the_root_of_the_count(long_results):
    # 1/sqrt(n): four times the photons, half the error (from memory).
    one = np.mean([result.estimate("rms_angle_deg").error for result in long_results])
    longer = [result.estimate("rms_angle_deg").error for result in traced(4 * LONG, 4)]
    assert one / np.mean(longer) == pytest.approx(2.0, rel=0.15)
