"""Errors: what they are, and that no digit is printed which they do not bear."""

import math

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.engine.pilot import pilot
from photonsim.results import Estimate, screen_of, sums
from photonsim.results.estimate import decimal_places
from photonsim.results.measured import Samples
from photonsim.results.merit import rms_angle_deg
from photonsim.studies.comparing.paired import difference
from photonsim.studies.effort import Effort
from tests.chance import assert_mean, assert_variance_at_most
from tests.results.made import OPTICS, tallies_of
from tests.shipped import scene


@pytest.mark.parametrize(
    ("value", "error", "text"),
    [
        (0.035896, 0.000186, "0.03590 ± 0.00019"),
        (1234.5, 67.8, "1234 ± 68"),
        (123456.0, 7890.0, "123500 ± 7900"),
        (5.0, 0.0996, "5.00 ± 0.10"),
        (math.nan, 1.0, "n/a"),
        (2.0, math.nan, "2 ± ?"),
        (0.0, 0.0, "0"),
    ],
)
def test_two_digits_of_the_error_and_no_more(value, error, text):
    assert Estimate(value, error).text() == text


def test_decimal_places_at_the_edge_of_rounding():
    assert [decimal_places(e) for e in (0.0994, 0.0996, 9.94, 9.96, 99.6)] == [3, 2, 1, 0, -1]


def test_chance_of_zero_is_students():
    """t(0.975) for 31 degrees of freedom is 2.040 (standard tables): two sides make 0.05."""
    assert Estimate(20.40, 10.0, 31).chance_of_zero == pytest.approx(0.05, abs=1e-4)


@pytest.mark.parametrize(("photons", "samples"), [(1 << 16, 128), (1 << 17, 16), (1 << 18, 32)])
def test_jackknife_of_a_share_is_the_standard_error_of_its_samples(photons, samples):
    """For a mean the delete-one jackknife is the usual standard error (Efron 1982, eq. 3.4).

    From 16 blocks of 8,192 histories on, these are the samples.
    """
    result = trace(scene("f"), photons=photons)
    emitted = result.tallies.emitted / samples
    batches = result.tallies.batches
    shares = batches["collected"].reshape(samples, -1).sum(axis=1) / emitted
    expected = shares.std(ddof=1) / math.sqrt(len(shares))
    found = result.estimate("collected_fraction")
    assert found.error == pytest.approx(expected, rel=1e-9)
    assert found.degrees == samples - 1
    stopped = result.share_of(fate for fate in result.fates if fate.group == "stop")
    stops = [k for k, fate in enumerate(result.fates) if fate.group == "stop"]
    shares = batches["fates"][:, stops].reshape(samples, -1).sum(axis=1) / emitted
    assert stopped.error == pytest.approx(shares.std(ddof=1) / math.sqrt(len(shares)), rel=1e-9)


def test_jackknife_of_independent_photons_is_the_binomial_error():
    """sqrt(p (1 - p) / n), known from 128 batches to 1/sqrt(2 * 127) = 6.3 %; five of those."""
    batches = np.random.default_rng(4).binomial(1 << 13, 0.02, 128)
    strayed = sums.jackknife_deviations((batches.sum() - batches) / (127 << 13))
    error = np.sqrt(np.sum(strayed**2, axis=0))
    assert error == pytest.approx(math.sqrt(0.02 * 0.98 / (1 << 20)), rel=0.32)


@pytest.mark.parametrize("photons", [1, 300, 8191])
def test_a_share_of_few_photons_has_the_binomial_error(photons):
    result = trace(scene("f"), photons=photons, guide="off")
    for estimate in (
        result.estimate("incident_fraction"),
        result.share_of(fate for fate in result.fates if fate.group == "blocked"),
    ):
        share = estimate.value
        assert estimate.error == pytest.approx(math.sqrt(share * (1.0 - share) / photons))
        assert math.isinf(estimate.degrees)


def test_a_share_of_few_weighted_photons_is_surer_than_it_says():
    """Its law is that of independent histories; those of a block are spread more evenly."""
    guide, names = pilot(scene("d"), 1), ("collected_fraction", "incident_fraction")
    runs = [trace(scene("d"), 4096, seed, guide=guide, threads=1) for seed in range(60)]
    for name in names:
        found = [run.estimate(name) for run in runs]
        stated = np.mean([estimate.error**2 for estimate in found])
        values = [estimate.value for estimate in found]
        assert_variance_at_most(values, stated, odds=1e-5, what=name)
        assert stated < 4.0 * np.var(values)
        assert all(math.isinf(estimate.degrees) for estimate in found)


@pytest.fixture(scope="module")
def sixty_runs():
    return [trace(scene("d"), photons=40_000, seed=seed) for seed in range(60)]


def squared_scatter_over_stated(results, name):
    estimates = [result.estimate(name) for result in results]
    values = np.array([estimate.value for estimate in estimates])
    stated = np.mean([estimate.error**2 for estimate in estimates])
    return (values - values.mean()) ** 2 * len(results) / (len(results) - 1) / stated


@pytest.mark.parametrize("name", ["collected_fraction", "acceptance", "rms_angle_deg"])
def test_errors_say_how_far_runs_lie_apart(sixty_runs, name):
    ratio = squared_scatter_over_stated(sixty_runs, name)
    assert_mean(ratio, 1.0, odds=1e-5, what=f"squared scatter over stated of {name}")


def test_errors_of_paired_differences_say_how_far_they_lie_apart(sixty_runs):
    """Both lamps have the same emission, history by history; what is left is the film's doing."""
    wider = scene("d", gap="width_mm = 12.0 => width_mm = 11.0")
    others = [trace(wider, photons=40_000, seed=seed) for seed in range(60)]
    for name in ("incident_fraction", "rms_angle_deg"):
        pairs = [
            difference(one, other, name) for one, other in zip(sixty_runs, others, strict=True)
        ]
        values, stated = np.array([(pair.value, pair.error) for pair in pairs]).T
        ratio = (values - values.mean()) ** 2 * 60 / 59 / np.mean(stated**2)
        assert_mean(ratio, 1.0, odds=1e-5, what=f"squared scatter over stated, {name}")


@pytest.mark.long
@pytest.mark.parametrize("stem", ["a", "c", "d", "f"])
def test_errors_of_whole_blocks_say_how_far_runs_lie_apart(stem):
    """In runs of a million photons or more a batch is a whole block of the emission's net."""
    results = [trace(scene(stem), photons=1 << 20, seed=seed) for seed in range(100)]
    for name in ("collected_fraction", "incident_fraction", "acceptance", "rms_angle_deg"):
        ratio = squared_scatter_over_stated(results, name)
        assert_mean(ratio, 1.0, odds=1e-4, what=f"squared scatter over stated of {name}, {stem}")


@pytest.mark.parametrize("batches", [32, 64, 100, 128])
def test_half_samples_of_a_linear_figure_scatter_as_batches_do(batches):
    """Both are g times the variance of the batches, exactly (McCarthy 1969)."""
    counts = np.random.default_rng(batches).poisson(50.0, (batches, 2, 9, 9))
    tallies = tallies_of({"cells": counts}, photons=1000 * batches, batch_photons=1000)
    half = Samples(tallies).halves.cells
    np.testing.assert_allclose(half.mean(axis=0), counts.sum(axis=0))
    squared = (sums.half_sample_deviations(half) ** 2).sum(axis=0)
    np.testing.assert_allclose(squared, batches * counts.var(axis=0, ddof=1))


def test_sums_are_exact_to_the_greatest_count():
    """10**14 photons of 128 batches, all at 45 degrees in x: u**2 sums to 5.2e19, past 2**63."""
    each = 10**14 // 128
    squares = each << 19
    batches = {
        "direction_sums": np.tile(np.array([0, 0, squares, 0]), (128, 1)),
        "incident": np.full(128, each),
    }
    tallies = tallies_of(batches, photons=128 * each, batch_photons=each)
    assert 128 * squares > 2**63
    found = Samples(tallies).total
    assert int(found.direction_sums[0, 2]) == 128 * squares
    assert rms_angle_deg(found, OPTICS)[0] == pytest.approx(45.0, rel=1e-12)
    assert rms_angle_deg(Samples(tallies).without_each, OPTICS) == pytest.approx(np.full(128, 45.0))


def test_the_spread_of_a_lamp_is_the_same_of_10_to_the_14_photons():
    """Made up: a traced run's counts times a whole number, which leaves all ratios as they are."""
    result = trace(scene("e"), photons=1 << 17)
    times = 10**14 // result.photons
    many = {name: array * times for name, array in result.tallies.batches.items()}
    size = result.tallies.batch_photons * times
    found = Samples(tallies_of(many, photons=result.photons * times, batch_photons=size)).total
    assert found.direction_sums[0, 2:].sum() > 2**63
    expected = result.estimate("rms_angle_deg").value
    assert rms_angle_deg(found, OPTICS)[0] == pytest.approx(expected, rel=1e-12)


def test_negative_sums_are_exact_too():
    counts = np.array([[-(2**62), -3], [-(2**62), 5], [-(2**62), -9]])
    found = Samples(tallies_of({"direction_sums": counts}, photons=3, batch_photons=1)).total
    assert found.direction_sums[0].tolist() == [-3 * 2.0**62, -7.0]


def test_too_few_batches_give_no_figure_rather_than_a_wrong_one():
    """Extremes are withheld, also from others that go by them; a share has its binomial error."""
    few = trace(scene("d"), photons=5000)
    for name in ("uniformity", "uniformity_max", "deviation_13", "darkest_edge", "structure"):
        assert few.estimate(name).is_withheld
        assert few.estimate(name).text() == "too few photons"
        assert math.isinf(few.estimate(name).relative_error)
    assert math.isnan(few.estimate("acceptance").error)
    assert math.isnan(difference(few, few, "uniformity").value)
    effort = Effort(0.9, limits=(("uniformity", 0.5),), most_photons=5000)
    assert effort.shortfall(few) > 1.0
    assert trace(scene("f"), photons=1 << 15).estimate("structure").text() == "n/a"


def test_dark_edges_are_seen_where_nine_points_see_none():
    """The split film: outside its bars the picture falls to a third, in 3 mm of 95."""
    result = trace(scene("d"), photons=1 << 23)
    nine, edge = result.estimate("uniformity"), result.estimate("darkest_edge")
    profile = result.tallies.batches["profile_x"][:, 1].sum(axis=0)
    ends = (profile[:4].mean() / profile.mean(), profile[-4:].mean() / profile.mean())
    assert nine.value > 0.9
    assert edge.value == pytest.approx(min(ends), abs=3.0 * edge.error)
    assert edge.value < 0.45


def test_a_run_of_a_single_whole_batch_is_told_without_a_warning():
    # Without that batch there are 0 photons; pytest would let numpy's warning pass.
    result = trace(scene("d"), photons=256, seed=1)
    assert result.tallies.complete_batches == 1
    with np.errstate(all="raise"):
        assert np.isnan(screen_of(result).relative_light()[1]).all()
