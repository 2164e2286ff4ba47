"""The most likely parameters of a model for given readings, with limits, by response surfaces.

The model may be noisy and slow: a traced lamp. Around the best point so far its predictions are
replaced by full quadratic polynomials through as few points as determine them; the likelihood of
normal errors is searched on these, the points are drawn together round the new best point, and so
on until it stays (response surface method: Box and Wilson, J. R. Stat. Soc. B 13, 1 (1951)).

Limits are those of the profile likelihood: the values at which chi-squared, least over all other
parameters, has risen by the quantile of chi-squared with one degree of freedom (Wilks, Ann. Math.
Stat. 9, 60 (1938)).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray
from scipy import optimize, stats

from photonsim.arrays import Reals

# Takes the parameters [k], returns predictions [n] and their standard errors [n].
Model = Callable[[Reals], tuple[Reals, Reals]]

FIRST_REACH = 0.25  # of the allowed range, to each side
LEAST_REACH = 0.005
# The surface should hold where the limits will lie: two standard errors and something.
REACH_IN_ERRORS = 2.5
# Beyond, a quadratic is no longer believed.
TRUSTED_REACHES = 3.0
MOST_ROUNDS = 8


@dataclass(frozen=True)
class Data:
    """Readings [n] with their standard uncertainties [n].

    `groups` [n] says which readings share an unknown factor (the meter's calibration, say), by a
    number from 0; -1 for those taken as they are.
    """

    values: Reals
    errors: Reals
    groups: NDArray[np.int64]


@dataclass(frozen=True)
class Likelihood:
    """What the readings say about the parameters [k].

    best, low, high: most likely values and limits. unlimited: (below, above) per parameter, where
    the limit is only that of the allowed range. covariance [k, k] in the parameters' units, from
    the surface's slopes at the best point. predictions and prediction_errors [n], common factors
    included; factors by group. chi_squared has `degrees` degrees of freedom.
    """

    best: Reals
    low: Reals
    high: Reals
    unlimited: tuple[tuple[bool, bool], ...]
    covariance: Reals
    predictions: Reals
    prediction_errors: Reals
    factors: tuple[float, ...]
    chi_squared: float
    degrees: int
    confidence: float

    @property
    def correlation(self) -> Reals:
        """Correlation of the parameters' errors [k, k]."""
        spread = np.sqrt(np.diag(self.covariance))
        return self.covariance / np.outer(spread, spread)

    @property
    def chance(self) -> float:
        """The probability of so bad a fit by luck alone; nan without degrees of freedom."""
        if self.degrees < 1:
            return float("nan")
        return float(stats.chi2.sf(self.chi_squared, self.degrees))


def maximise(
    model: Model,
    data: Data,
    start: Sequence[float],
    bounds: Sequence[tuple[float, float]],
    confidence: float = 0.95,
) -> Likelihood:
    """Return the most likely parameters within bounds, and their limits.

    Raises ValueError if a start lies outside its bounds.
    """
    lower, upper = (np.array(side, dtype=float) for side in zip(*bounds, strict=True))
    span = upper - lower
    centre = (np.array(start, dtype=float) - lower) / span
    if np.any(centre < 0.0) or np.any(centre > 1.0):
        raise ValueError("a start value lies outside its bounds")

    def scaled(unit: Reals) -> tuple[Reals, Reals]:
        return model(lower + unit * span)

    reach = np.full(len(centre), FIRST_REACH)
    for _ in range(MOST_ROUNDS):
        surface = _Surface.through(scaled, centre, reach, data)
        best = surface.least()
        errors = np.sqrt(np.diag(surface.covariance(best)))
        wanted = np.clip(REACH_IN_ERRORS * errors, LEAST_REACH, FIRST_REACH)
        inside = np.all(np.abs(best - surface.centre) <= 1.001 * surface.reach)
        if inside and np.all(surface.reach <= 1.5 * wanted):
            break
        # Halve the reach at most, so that one bad surface does not end the search beside the goal.
        reach = np.maximum(wanted, 0.4 * reach)
        centre = best
    return _summary(surface, best, lower, span, confidence)


def _summary(
    surface: _Surface, best: Reals, lower: Reals, span: Reals, confidence: float
) -> Likelihood:
    limits = [surface.limits(best, k, confidence) for k in range(len(best))]
    predictions, factors = surface.fitted(best)
    return Likelihood(
        best=lower + best * span,
        low=lower + np.array([low for low, _, _ in limits]) * span,
        high=lower + np.array([high for _, high, _ in limits]) * span,
        unlimited=tuple(open_ends for _, _, open_ends in limits),
        covariance=surface.covariance(best) * np.outer(span, span),
        predictions=predictions,
        prediction_errors=surface.model_errors,
        factors=factors,
        chi_squared=surface.chi_squared(best),
        degrees=len(surface.data.values) - len(best) - len(factors),
        confidence=confidence,
    )


@dataclass(frozen=True)
class _Surface:
    """Quadratic predictions around a centre, in parameters scaled to 0..1."""

    centre: Reals
    reach: Reals
    coefficients: Reals
    model_errors: Reals
    data: Data

    @classmethod
    def through(cls, model: Model, centre: Reals, reach: Reals, data: Data) -> _Surface:
        """Fit the surface through one point in the middle, two on each axis, one for each pair."""
        # Near a bound the middle gives way, so that the points stay inside.
        middle = np.clip(centre, reach, 1.0 - reach)
        axes = np.eye(len(middle))
        pairs = [axes[j] + axes[k] for j, k in combinations(range(len(middle)), 2)]
        steps = [np.zeros_like(middle), *axes, *-axes, *pairs]
        seen = [model(middle + step * reach) for step in steps]
        values = np.array([value for value, _ in seen])
        coefficients = np.linalg.solve(np.array([_terms(step) for step in steps]), values)
        return cls(middle, reach, coefficients, seen[0][1], data)

    def predict(self, unit: Reals) -> Reals:
        """Return the predictions [n] before any common factor."""
        return _terms((unit - self.centre) / self.reach) @ self.coefficients

    def fitted(self, unit: Reals) -> tuple[Reals, tuple[float, ...]]:
        """Return the predictions with each group's most likely factor, and the factors."""
        predictions = self.predict(unit)
        factors = []
        for inside in self._groups:
            own, values = predictions[inside], self.data.values[inside]
            weights = 1.0 / self._variances[inside]
            factors.append(float(weights @ (own * values)) / max(float(weights @ own**2), 1e-300))
            predictions[inside] = factors[-1] * own
        return predictions, tuple(factors)

    @cached_property
    def _groups(self) -> list[NDArray[np.bool_]]:
        last = int(self.data.groups.max(initial=-1))
        return [self.data.groups == group for group in range(last + 1)]

    @cached_property
    def _variances(self) -> Reals:
        """Variance of reading less prediction: the meter's, and that of the traced counts.

        In groups the model's own error is scaled as the readings are, roughly.
        """
        own = self.model_errors.copy()
        middle = self.predict(self.centre)
        for inside in self._groups:
            total = middle[inside].sum()
            own[inside] *= self.data.values[inside].sum() / total if total > 0.0 else 1.0
        return self.data.errors**2 + own**2

    def residuals(self, unit: Reals) -> Reals:
        """Return (reading - prediction) / error [n]."""
        return (self.data.values - self.fitted(unit)[0]) / np.sqrt(self._variances)

    def slopes(self, unit: Reals) -> Reals:
        """Return the derivatives of the residuals by the parameters [n, k]."""
        step = (unit - self.centre) / self.reach
        raw = self.coefficients.T @ (_term_slopes(step) / self.reach)
        predictions = self.predict(unit)
        for inside in self._groups:
            own, values = predictions[inside], self.data.values[inside]
            weights = 1.0 / self._variances[inside]
            square = max(float(weights @ own**2), 1e-300)
            factor = (weights @ (own * values)) / square
            turn = ((weights * (values - 2.0 * factor * own)) @ raw[inside]) / square
            raw[inside] = factor * raw[inside] + np.outer(own, turn)
        return -raw / np.sqrt(self._variances)[:, None]

    def chi_squared(self, unit: Reals) -> float:
        """Return the sum of squared residuals."""
        return float(np.sum(self.residuals(unit) ** 2))

    def least(self, fixed: dict[int, float] | None = None, start: Reals | None = None) -> Reals:
        """Return the parameters of least chi-squared near the centre, some of them held fixed."""
        fixed = fixed or {}
        at = (self.centre if start is None else start).copy()
        at[list(fixed)] = list(fixed.values())
        free = [k for k in range(len(at)) if k not in fixed]
        if not free:
            return at
        low, high = (side[free] for side in self._trusted)

        def moved(values: Reals) -> Reals:
            at[free] = values
            return at

        def residuals(values: Reals) -> Reals:
            return self.residuals(moved(values))

        def slopes(values: Reals) -> Reals:
            return self.slopes(moved(values))[:, free]

        inside = np.clip(at[free], low + 1e-9, high - 1e-9)
        scale = self.reach[free]
        # The free search is much the faster; where it leaves the bounds, it has to be the other.
        found = optimize.least_squares(residuals, inside, jac=slopes, x_scale=scale, method="lm")
        if np.any(found.x < low) or np.any(found.x > high):
            found = optimize.least_squares(
                residuals, inside, jac=slopes, x_scale=scale, bounds=(low, high)
            )
        return moved(found.x)

    @cached_property
    def _trusted(self) -> tuple[Reals, Reals]:
        """Lowest and highest parameters at which the surface is believed."""
        out = TRUSTED_REACHES * self.reach
        return np.maximum(0.0, self.centre - out), np.minimum(1.0, self.centre + out)

    def covariance(self, unit: Reals) -> Reals:
        """Return the covariance [k, k] from the slopes of the residuals at a point."""
        slopes = self.slopes(unit)
        # A prior a thousand times as wide as the range keeps a parameter without effect finite.
        information = slopes.T @ slopes + 1e-6 * np.eye(len(unit))
        return np.asarray(np.linalg.inv(information), dtype=np.float64)

    def limits(
        self, best: Reals, k: int, confidence: float
    ) -> tuple[float, float, tuple[bool, bool]]:
        """Return the profile's limits of parameter k, and which of them are only its bounds."""
        allowed = float(stats.chi2.ppf(confidence, 1))
        least = self.chi_squared(best)

        def excess(value: float) -> float:
            at = self.least({k: value}, best)
            return self.chi_squared(at) - least - allowed

        ends, unlimited = [], []
        for bound, far in zip((0.0, 1.0), (side[k] for side in self._trusted), strict=True):
            beyond = abs(far - best[k]) > 1e-9 and excess(far) > 0.0
            unlimited.append(not beyond)
            near = 1e-3 * self.reach[k]
            ends.append(optimize.brentq(excess, best[k], far, xtol=near) if beyond else bound)
        return ends[0], ends[1], (unlimited[0], unlimited[1])


@cache
def _pairs(count: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    first, second = np.triu_indices(count, 1)
    return first, second


def _terms(step: Reals) -> Reals:
    """Return 1, every coordinate, its square, and every product of two [t]."""
    first, second = _pairs(len(step))
    return np.concatenate([[1.0], step, step * step, step[first] * step[second]])


def _term_slopes(step: Reals) -> Reals:
    """Return the derivatives of the terms by the coordinates [t, k]."""
    one = np.eye(len(step))
    first, second = _pairs(len(step))
    products = step[first, None] * one[second] + step[second, None] * one[first]
    return np.concatenate([0.0 * one[:1], one, 2.0 * np.diag(step), products])
