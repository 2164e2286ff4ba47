"""The one place where random results are judged: every verdict states its odds of a false alarm.

A check that is right fails with probability `odds` over all seeds. Seeds are fixed in the tests, so
a check that has passed once goes on passing until the program changes. With the usual one in a
million, some hundred checks are all passed by a right program in 9,999 of 10,000 choices of seeds.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

ODDS = 1e-6
FEWEST_BATCHES = 20
# A figure's mean over runs lies within this many stated errors of the truth, and its stated error
# over its scatter within these two.
MOST_BIAS = 0.3
LEAST_RATIO, MOST_RATIO = 0.8, 1.3
# Those of a figure well within these limits, which is to pass without an allowance for luck.
WELL_WITHIN = 0.1, 0.9, 1.15
# Pearson's statistic follows its law well where 10 or more counts are expected in a bin.
FEWEST_COUNTS = 10.0


def assert_proportion(
    hits: int,
    trials: int,
    expected: float,
    *,
    known_to: float = 0.0,
    odds: float = ODDS,
    what: str = "share",
) -> None:
    """Fail unless `hits` out of `trials` fit the probability `expected`.

    The exact two-sided binomial test (the smaller tail, twice); with `known_to`, the standard error
    of the expected value itself, the normal law with both errors. Raises AssertionError.
    """
    found = hits / trials
    error = math.hypot(math.sqrt(expected * (1.0 - expected) / trials), known_to)
    if known_to > 0.0:
        chance = 2.0 * stats.norm.sf(abs(found - expected) / error)
    else:
        law = stats.binom(trials, expected)
        chance = min(1.0, 2.0 * min(law.cdf(hits), law.sf(hits - 1)))
    _judge(chance, odds, _figures(what, expected, found, error))


def assert_proportion_at_least(
    hits: int, trials: int, least: float, *, odds: float = ODDS, what: str = "share"
) -> None:
    """Fail if `hits` out of `trials` are too few for a probability of `least` or more.

    The exact one-sided binomial test. Raises AssertionError.
    """
    error = math.sqrt(least * (1.0 - least) / trials)
    chance = float(stats.binom(trials, least).cdf(hits))
    _judge(chance, odds, _figures(what, least, hits / trials, error))


def assert_mean(
    values: ArrayLike,
    expected: float,
    *,
    known_to: float = 0.0,
    odds: float = ODDS,
    what: str = "mean",
) -> None:
    """Fail unless the mean of independent batch values fits `expected` (Student's t, two-sided).

    `known_to` is the standard error of the expected value. Raises AssertionError; ValueError for
    fewer than 20 batches.
    """
    batches = _batches(values)
    error = math.hypot(float(stats.sem(batches)), known_to)
    found = float(batches.mean())
    chance = _t_chance(found - expected, error, len(batches) - 1)
    _judge(chance, odds, _figures(what, expected, found, error))


def assert_variance_at_most(
    values: ArrayLike, most: float, *, odds: float = ODDS, what: str = "variance"
) -> None:
    """Fail if independent, nearly normal batch values scatter by more than a variance of `most`.

    (n - 1) s**2 over the variance follows chi-square with n - 1 degrees; one-sided. Raises
    AssertionError; ValueError for fewer than 20 batches.
    """
    batches = _batches(values)
    freedom, found = len(batches) - 1, float(batches.var(ddof=1))
    chance = float(stats.chi2.sf(freedom * found / most, freedom))
    _judge(chance, odds, _figures(what, most, found, most * math.sqrt(2.0 / freedom)))


def assert_coverage(
    values: ArrayLike,
    errors: ArrayLike,
    truth: float,
    *,
    known_to: float = 0.0,
    odds: float = ODDS,
    what: str = "figure",
) -> None:
    """Fail unless a figure of independent runs is as sure as its stated errors say.

    Its mean may stray from the `truth` by MOST_BIAS stated errors, and the stated error (root of
    its mean square) may be LEAST_RATIO to MOST_RATIO of the scatter; beyond that only by chance:
    Student's t for the mean, chi-square for the scatter of nearly normal values, a third of the
    odds for each of the three. Raises AssertionError; ValueError for fewer than 20 runs.
    """
    runs = _batches(values)
    freedom, stated = len(runs) - 1, float(np.sqrt(np.mean(np.square(errors))))
    found, scatter = float(runs.mean()), float(runs.std(ddof=1))
    beyond = max(abs(found - truth) - MOST_BIAS * stated, 0.0)
    mean_error = math.hypot(float(stats.sem(runs)), known_to)
    remark = f"{what}: {found:.7g} for {truth:.7g}, stated ± {stated:.2g}, scatter {scatter:.2g}"
    _judge(_t_chance(beyond, mean_error, freedom), odds / 3.0, f"{remark}: bias")
    if scatter == stated == 0.0:
        return
    squares = freedom * (scatter / stated) ** 2 if stated > 0.0 else math.inf
    small = float(stats.chi2.cdf(squares * MOST_RATIO**2, freedom))
    large = float(stats.chi2.sf(squares * LEAST_RATIO**2, freedom))
    _judge(small, odds / 3.0, f"{remark}: stated error too large")
    _judge(large, odds / 3.0, f"{remark}: stated error too small")


def assert_coverage_as_found(
    values: ArrayLike, errors: ArrayLike, truth: float, *, known_to: float = 0.0, what: str
) -> None:
    """Fail where bias or ratio, as found over many runs, lie beyond the limits of assert_coverage.

    There is no allowance for luck: a figure just at a limit fails one time in two. The odds that
    are stated are those of a figure that in truth is WELL_WITHIN: over 400 runs 4 in 100,000 for
    its bias, where the truth is known, and 5 and 2 in 10,000 for its ratio. Raises AssertionError.
    """
    runs = _batches(values)
    freedom, stated = len(runs) - 1, float(np.sqrt(np.mean(np.square(errors))))
    found, scatter = float(runs.mean()), float(runs.std(ddof=1))
    if scatter == stated == found - truth == 0.0:
        return
    most_bias, least, most = WELL_WITHIN
    one = math.hypot(float(stats.sem(runs)), known_to) / stated
    squares = freedom * (scatter / stated) ** 2
    bias, t, law = abs(found - truth) / stated, stats.t(freedom), stats.chi2(freedom)
    remark = f"{what}: {found:.7g} for {truth:.7g}, stated ± {stated:.2g}, scatter {scatter:.2g}"
    for words, tail, at, limit in (
        ("bias", t.sf, (bias - most_bias) / one, (MOST_BIAS - most_bias) / one),
        ("error too large", law.cdf, squares * most**2, freedom * (most / MOST_RATIO) ** 2),
        ("error too small", law.sf, squares * least**2, freedom * (least / LEAST_RATIO) ** 2),
    ):
        _judge(float(tail(at)), float(tail(limit)), f"{remark}: {words}")


def assert_same_mean(
    values: ArrayLike, others: ArrayLike, *, odds: float = ODDS, what: str = "mean"
) -> None:
    """Fail unless two independent sets of batch values have one mean (Welch's t, two-sided).

    Raises AssertionError; ValueError for fewer than 20 batches in either.
    """
    ours, theirs = _batches(values), _batches(others)
    parts = [float(stats.sem(batch)) ** 2 for batch in (ours, theirs)]
    error = math.sqrt(sum(parts))
    weights = [part**2 / (len(b) - 1) for part, b in zip(parts, (ours, theirs), strict=True)]
    freedom = error**4 / sum(weights) if error > 0.0 else 1.0
    found, expected = float(ours.mean()), float(theirs.mean())
    chance = _t_chance(found - expected, error, freedom)
    _judge(chance, odds, _figures(what, expected, found, error))


def assert_distribution(
    counts: ArrayLike, shares: ArrayLike, *, odds: float = ODDS, what: str = "distribution"
) -> None:
    """Fail unless `counts` fit the probabilities `shares` of the same shape (Pearson's chi-square).

    Bins that expect fewer than 10 counts are pooled. Raises AssertionError; ValueError where the
    shares are negative or do not sum to 1.
    """
    found = np.asarray(counts, dtype=float).ravel()
    share = np.asarray(shares, dtype=float).ravel()
    if share.min() < 0.0 or abs(share.sum() - 1.0) > 1e-9 or share.shape != found.shape:
        raise ValueError("shares must be one per count, not negative, and sum to 1")
    impossible = int(found[share == 0.0].sum())
    if impossible:
        raise AssertionError(f"{what}: {impossible} counts where none are possible")
    expected = share * found.sum()
    worst = int(np.argmax(np.abs(found - expected) / np.sqrt(np.maximum(expected, FEWEST_COUNTS))))
    place = tuple(int(i) for i in np.unravel_index(worst, np.shape(counts)))
    remark = f"; bin {place}: expected {expected[worst]:.1f}, found {found[worst]:.0f}"
    found, expected = _pool(found, expected, expected)
    statistic = float(((found - expected) ** 2 / expected).sum())
    _judge_chi_square(statistic, len(found) - 1, odds, what, remark)


def assert_same_distribution(
    counts: ArrayLike, others: ArrayLike, *, odds: float = ODDS, what: str = "distribution"
) -> None:
    """Fail unless two independent histograms of the same bins follow one law (chi-square).

    For totals R and S the statistic is the sum of (sqrt(S/R) r - sqrt(R/S) s)**2 / (r + s)
    (Press et al., Numerical Recipes, section 14.3: from memory). Raises AssertionError.
    """
    ours = np.asarray(counts, dtype=float).ravel()
    theirs = np.asarray(others, dtype=float).ravel()
    balance = math.sqrt(theirs.sum() / ours.sum())
    both = ours + theirs
    ours, theirs = _pool(ours, theirs, both)
    statistic = float(((balance * ours - theirs / balance) ** 2 / (ours + theirs)).sum())
    _judge_chi_square(statistic, len(ours) - 1, odds, what, "")


def assert_fits(
    values: ArrayLike,
    expected: ArrayLike,
    errors: ArrayLike,
    *,
    odds: float = ODDS,
    what: str = "values",
) -> None:
    """Fail unless independent values with known standard errors fit what is expected.

    The sum of squared deviations over errors follows chi-square with as many degrees as values.
    Raises AssertionError.
    """
    found, wanted, error = (np.asarray(a, dtype=float).ravel() for a in (values, expected, errors))
    deviations = (found - wanted) / error
    worst = int(np.argmax(np.abs(deviations)))
    place = tuple(int(i) for i in np.unravel_index(worst, np.shape(values)))
    remark = (
        f"; worst at {place}: expected {wanted[worst]:.5g}, found {found[worst]:.5g} ± "
        f"{error[worst]:.2g}"
    )
    _judge_chi_square(float((deviations**2).sum()), len(found), odds, what, remark)


def assert_symmetric(counts: ArrayLike, *, odds: float = ODDS, what: str = "table") -> None:
    """Fail unless a square table of joint counts is symmetric: as many from i to j as from j to i.

    Bowker's test (J. Am. Stat. Assoc. 43, 572 (1948): from memory): the sum of
    (n_ij - n_ji)**2 / (n_ij + n_ji) over pairs. Raises AssertionError.
    """
    table = np.asarray(counts, dtype=float)
    upper = np.triu_indices(len(table), 1)
    there, back = table[upper], table.T[upper]
    there, back = _pool(there, back, there + back)
    statistic = float(((there - back) ** 2 / (there + back)).sum())
    _judge_chi_square(statistic, len(there), odds, what, "")


def _pool(
    first: NDArray[Any], second: NDArray[Any], weight: NDArray[Any]
) -> tuple[NDArray[Any], NDArray[Any]]:
    """Return two arrays with all bins of small weight summed into one."""
    small = weight < FEWEST_COUNTS
    if not small.any():
        return first, second
    if weight[small].sum() < FEWEST_COUNTS and not small.all():
        small[int(np.argmin(np.where(small, np.inf, weight)))] = True
    pooled = [np.append(array[~small], array[small].sum()) for array in (first, second)]
    return pooled[0], pooled[1]


def _batches(values: ArrayLike) -> NDArray[np.float64]:
    batches = np.asarray(values, dtype=float)
    if batches.ndim != 1 or len(batches) < FEWEST_BATCHES:
        raise ValueError(f"a mean is judged by {FEWEST_BATCHES} batches or more")
    return batches


def _t_chance(difference: float, error: float, freedom: float) -> float:
    if error == 0.0:
        return 1.0 if difference == 0.0 else 0.0
    return float(2.0 * stats.t.sf(abs(difference) / error, freedom))


def _figures(what: str, expected: float, found: float, error: float) -> str:
    z = (found - expected) / error if error > 0.0 else math.inf
    return f"{what}: expected {expected:.7g}, found {found:.7g} ± {error:.2g} (z = {z:+.2f})"


def _judge_chi_square(statistic: float, freedom: int, odds: float, what: str, remark: str) -> None:
    if freedom < 1:
        raise ValueError(f"{what}: too few counts for a verdict")
    chance = float(stats.chi2.sf(statistic, freedom))
    z = (statistic - freedom) / math.sqrt(2.0 * freedom)
    _judge(
        chance,
        odds,
        f"{what}: expected chi-square {freedom} ± {math.sqrt(2.0 * freedom):.1f}, found "
        f"{statistic:.1f} (z = {z:+.2f}){remark}",
    )


class Verdict(NamedTuple):
    """What a check compared, and the odds that a right program fails it."""

    figures: str
    chance: float
    odds: float


# Every verdict of this process, for the table at the end of a run (tests/conftest.py).
VERDICTS: list[Verdict] = []


def _judge(chance: float, odds: float, figures: str) -> None:
    VERDICTS.append(Verdict(figures, chance, odds))
    if not chance >= odds:
        raise AssertionError(
            f"{figures}. A right program would be this far off with probability {chance:.1e}; "
            f"the check gives a false alarm with {odds:.0e}."
        )
