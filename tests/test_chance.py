"""The judge of random results is judged: it must pass what is right and fail what is not."""

import numpy as np
import pytest
from scipy import stats

from tests import chance

TRIALS = 100_000
SHARES = np.array([0.1, 0.2, 0.3, 0.4])


def test_proportion_passes_within_and_fails_beyond_its_odds():
    # The normal law's two-sided one in a million is 4.89 standard errors.
    error = (0.3 * 0.7 * TRIALS) ** 0.5
    chance.assert_proportion(round(30_000 + 4.6 * error), TRIALS, 0.3)
    with pytest.raises(AssertionError, match=r"expected 0.3, found 0.307\d* ± 0.0014 \(z = \+5.2"):
        chance.assert_proportion(round(30_000 + 5.2 * error), TRIALS, 0.3)
    with pytest.raises(AssertionError, match="false alarm with 1e-06"):
        chance.assert_proportion(round(30_000 - 5.2 * error), TRIALS, 0.3)


def test_proportion_is_exact_at_the_ends():
    chance.assert_proportion(0, 1000, 0.0)
    chance.assert_proportion(1000, 1000, 1.0)
    with pytest.raises(AssertionError):
        chance.assert_proportion(1, 1000, 0.0)
    with pytest.raises(AssertionError):
        chance.assert_proportion(999, 1000, 1.0)


def test_proportion_makes_room_for_an_uncertain_expectation():
    chance.assert_proportion(31_000, TRIALS, 0.3, known_to=0.003)
    with pytest.raises(AssertionError):
        chance.assert_proportion(31_000, TRIALS, 0.3)


def test_fit_follows_chi_square():
    # Of nine degrees one in a million is beyond 44.8: nine deviations of 2.23 (scipy's law).
    limit = (stats.chi2.isf(1e-6, 9) / 9.0) ** 0.5
    expected, errors = np.arange(9.0), np.full(9, 0.5)
    chance.assert_fits(expected + 0.99 * limit * errors, expected, errors)
    with pytest.raises(AssertionError, match="expected chi-square 9"):
        chance.assert_fits(expected + 1.01 * limit * errors, expected, errors)


def test_proportion_at_least_minds_one_side_only():
    """Of 100 at even odds 26 are fewer with probability 8.3e-7, 27 with 2.3e-6 (exact sums)."""
    chance.assert_proportion_at_least(27, 100, 0.5)
    chance.assert_proportion_at_least(100, 100, 0.5)
    with pytest.raises(AssertionError, match=r"found 0\.26 "):
        chance.assert_proportion_at_least(26, 100, 0.5)


def test_mean_follows_students_t():
    values = np.concatenate([np.full(10, 1.0), np.full(10, 3.0)])
    error = stats.sem(values)
    limit = stats.t.isf(0.5e-6, 19)
    chance.assert_mean(values, 2.0 + 0.99 * limit * error)
    with pytest.raises(AssertionError, match="found 2 "):
        chance.assert_mean(values, 2.0 + 1.01 * limit * error)
    chance.assert_mean(values, 2.0 + 1.01 * limit * error, known_to=0.1)


def test_mean_of_equal_values_must_be_met_exactly():
    chance.assert_mean(np.ones(20), 1.0)
    with pytest.raises(AssertionError):
        chance.assert_mean(np.ones(20), 1.0 + 1e-12)


def test_mean_asks_for_enough_batches():
    with pytest.raises(ValueError, match="20 batches"):
        chance.assert_mean(np.arange(19.0), 9.0)


def test_variance_at_most_follows_chi_square():
    """The upper one in a million of chi-square with 19 degrees is 62.2 (scipy)."""
    values = np.concatenate([np.full(10, 1.0), np.full(10, 3.0)])  # variance 20/19
    most = (20.0 / 19.0) * 19.0 / stats.chi2.isf(1e-6, 19)
    chance.assert_variance_at_most(values, 1.01 * most)
    chance.assert_variance_at_most(values, 100.0)
    with pytest.raises(AssertionError, match=r"found 1\.05"):
        chance.assert_variance_at_most(values, 0.99 * most)


def test_coverage_allows_a_third_of_an_error_of_bias_and_the_chance_of_the_runs():
    """Scatter 1.0 of 100 runs: their mean is known to 0.1, and 4.9 of those have odds of 3e-6."""
    values = np.tile([-1.0, 1.0], 50) * np.sqrt(99.0 / 100.0)
    reach = 0.3 + 0.1 * stats.t.isf(1e-5 / 6.0, 99)
    for sign in (-1.0, 1.0):
        chance.assert_coverage(values, np.ones(100), sign * (reach - 0.001), odds=1e-5)
        with pytest.raises(AssertionError, match="bias"):
            chance.assert_coverage(values, np.ones(100), sign * (reach + 0.001), odds=1e-5)


def test_coverage_holds_the_stated_error_to_the_scatter():
    """Chi-square with 99 degrees (scipy): limits 1.3 and 0.8 widened by its tails."""
    values = np.tile([-1.0, 1.0], 50) * np.sqrt(99.0 / 100.0)
    most = 1.3 * np.sqrt(99.0 / stats.chi2.ppf(1e-5 / 3.0, 99))
    least = 0.8 * np.sqrt(99.0 / stats.chi2.isf(1e-5 / 3.0, 99))
    for stated in (0.999 * most, 1.0, 1.001 * least):
        chance.assert_coverage(values, np.full(100, stated), 0.0, odds=1e-5)
    with pytest.raises(AssertionError, match="too large"):
        chance.assert_coverage(values, np.full(100, 1.001 * most), 0.0, odds=1e-5)
    with pytest.raises(AssertionError, match="too small"):
        chance.assert_coverage(values, np.full(100, 0.999 * least), 0.0, odds=1e-5)
    chance.assert_coverage(np.ones(20), np.zeros(20), 1.0)


@pytest.mark.parametrize("sign", [1, -1])
def test_coverage_as_found_has_no_allowance_for_luck(sign):
    values = np.random.default_rng(8).normal(0.0, 1.0, 400)
    values = (values - values.mean()) / values.std(ddof=1)

    def judge(bias, stated):
        chance.assert_coverage_as_found(
            values + bias * stated, np.full(400, stated), 0.0, what="figure"
        )

    judge(sign * 0.299, 0.801)
    judge(sign * 0.299, 1.299)
    for bias, stated in ((0.301, 1.0), (0.0, 0.799), (0.0, 1.301)):
        with pytest.raises(AssertionError, match="figure"):
            judge(sign * bias, stated)


def test_two_means():
    values = np.tile([0.0, 1.0], 50)
    chance.assert_same_mean(values, values + 0.3)
    with pytest.raises(AssertionError):
        chance.assert_same_mean(values, values + 0.4)


def test_distribution():
    chance.assert_distribution(np.array([1010, 1990, 2980, 4020]), SHARES)
    with pytest.raises(AssertionError, match=r"bin \(0,\): expected 1000.0, found 1200"):
        chance.assert_distribution(np.array([1200, 1900, 2900, 4000]), SHARES)


def test_distribution_refuses_counts_where_none_are_possible():
    with pytest.raises(AssertionError, match="1 counts where none"):
        chance.assert_distribution([999, 1], [1.0, 0.0])


def test_distribution_refuses_shares_that_are_none():
    with pytest.raises(ValueError, match="sum to 1"):
        chance.assert_distribution([5, 5], [0.5, 0.6])


def test_distribution_pools_thin_bins():
    # A single count where 0.001 was expected is no evidence, though its own term would be 998.
    shares = np.append(np.full(10, 0.0999), np.full(100, 1e-5))
    counts = np.append(np.full(10, 10), np.eye(1, 100, dtype=int)[0])
    chance.assert_distribution(counts, shares)


def test_two_distributions():
    chance.assert_same_distribution([1000, 2000, 3000], [2060, 3950, 5990])
    with pytest.raises(AssertionError):
        chance.assert_same_distribution([1000, 2000, 3000], [2400, 3800, 5800])


def test_symmetry():
    table = np.array([[50, 400, 900], [420, 10, 300], [880, 310, 5]])
    chance.assert_symmetric(table)
    table[0, 1] = 600
    with pytest.raises(AssertionError):
        chance.assert_symmetric(table)


@pytest.mark.parametrize("judge", ["proportion", "mean", "distribution", "same", "symmetric"])
def test_false_alarms_come_as_often_as_stated(judge):
    # At odds of 5 %, 400 right results should fail 20 times, by the binomial law.
    generator = np.random.default_rng(20)
    alarms = 0
    for _ in range(400):
        try:
            _judge_a_right_result(judge, generator)
        except AssertionError:
            alarms += 1
    chance.assert_proportion(alarms, 400, 0.05, odds=1e-4)


def _judge_a_right_result(judge, generator):
    if judge == "proportion":
        chance.assert_proportion(generator.binomial(100_000, 0.3), 100_000, 0.3, odds=0.05)
    elif judge == "mean":
        chance.assert_mean(generator.normal(2.0, 1.0, 25), 2.0, odds=0.05)
    elif judge == "distribution":
        chance.assert_distribution(generator.multinomial(10_000, SHARES), SHARES, odds=0.05)
    elif judge == "same":
        ours, theirs = generator.multinomial(10_000, SHARES, size=2)
        chance.assert_same_distribution(ours, theirs, odds=0.05)
    else:
        joint = np.outer(SHARES, SHARES).ravel()
        chance.assert_symmetric(generator.multinomial(40_000, joint).reshape(4, 4), odds=0.05)
