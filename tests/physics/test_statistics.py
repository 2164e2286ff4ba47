"""Errors that are printed hold the truth as often as they claim, over many runs of one scene."""

import numpy as np
import pytest
from scipy import stats

from photonsim.engine import trace
from photonsim.scene import parse_scene
from tests.chance import assert_mean, assert_proportion
from tests.physics.tracing import box, emitter, stop, target

RUNS, PHOTONS, HALF_ANGLE_DEG = 300, 1 << 13, 20.0


@pytest.fixture(scope="module")
def results():
    """Runs of a point lamp before a hole that takes in a cone of 20 degrees."""
    hole = 2.0 * 50.0 * np.tan(np.radians(HALF_ANGLE_DEG))
    scene = parse_scene(box(200.0, 1.0) + emitter() + target(25.0, 200.0, 200.0) + stop(50.0, hole))
    return [trace(scene, photons=PHOTONS, seed=seed, threads=1) for seed in range(RUNS)]


def test_share_and_its_binomial_error(results):
    # Lambert's law: sin(t)**2 of the light within t (identity). Its standard error is
    # sqrt(p (1 - p)/n), with the normal law for intervals (textbooks of statistics: from memory).
    truth = np.sin(np.radians(HALF_ANGLE_DEG)) ** 2
    estimates = [result.estimate("collected_fraction") for result in results]
    assert_mean([estimate.value for estimate in estimates], truth)
    error = np.sqrt(truth * (1.0 - truth) / PHOTONS)
    assert np.mean([estimate.error for estimate in estimates]) == pytest.approx(error, rel=0.01)
    within = sum(abs(estimate.value - truth) < 1.96 * estimate.error for estimate in estimates)
    assert_proportion(within, RUNS, 0.95, known_to=0.01, what="95 % intervals that hold the truth")


def test_ratio_and_its_jackknife_error(results):
    # Student's t for the batches of a run (Student, Biometrika 6, 1 (1908)); the delete-one
    # jackknife (Efron 1982, eq. 3.4). Of the light at the panel the share that goes on through the
    # stop has the law of a share too, so the truth is known: sin(t)**2 over what the panel gets.
    seen = [result.estimate("incident_fraction").value for result in results]
    truth = np.sin(np.radians(HALF_ANGLE_DEG)) ** 2 / np.mean(seen)
    estimates = [result.estimate("acceptance") for result in results]
    held = [
        abs(estimate.value - truth) < stats.t.ppf(0.975, estimate.degrees) * estimate.error
        for estimate in estimates
    ]
    assert_proportion(sum(held), RUNS, 0.95, known_to=0.01, what="95 % intervals by Student's t")


def test_error_falls_with_the_root_of_the_count(results):
    # 1/sqrt(n): sixteen times the photons, a quarter of the error (from memory).
    one = np.mean([result.estimate("spread_deg").error for result in results])
    longer = [
        trace(result.scene, photons=16 * PHOTONS, seed=seed, threads=1)
        for seed, result in enumerate(results[:20])
    ]
    found = np.mean([result.estimate("spread_deg").error for result in longer])
    assert one / found == pytest.approx(4.0, rel=0.15)
