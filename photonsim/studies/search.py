"""The search for a better design: optuna proposes, photons judge.

One goal: tree-structured Parzen estimators (Bergstra et al., NIPS 24 (2011)), which model where
good designs lie from the ranks of all that were traced, and so bear noise. Two or three: NSGA-II
(Deb et al., IEEE Trans. Evol. Comput. 6, 182 (2002)). Both take limits, and whole numbers as such.

The search can be killed at any time. Its state is not stored: with one seed the optimiser proposes
the same designs again, and those whose figures stand in the journal are not traced again.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from photonsim.engine.cluster import Cluster
from photonsim.results import ResultError
from photonsim.scene import SceneError, number_at
from photonsim.studies.goals import (
    Bound,
    Goal,
    Limit,
    refuse_contradictions,
    refuse_twice,
    violations,
    within,
)
from photonsim.studies.journal import Journal, Record
from photonsim.studies.points import Point, Setting, estimate_in, measure_all

# A first look at three times the error costs a ninth of the photons.
COARSE = 3.0
# What lies so many standard errors behind is not traced on: 1 in 30,000 by luck.
CLEARLY_BEHIND = 4.0

TrialProgress = Callable[[int, int, Record, bool], None]


@dataclass(frozen=True)
class Search:
    """What is sought: goals, limits, bounds; how many designs are tried, how many at a time."""

    goals: tuple[Goal, ...]
    limits: tuple[Limit, ...]
    bounds: tuple[Bound, ...]
    trials: int = 150
    together: int = 1

    def __post_init__(self) -> None:
        if not 1 <= len(self.goals) <= 3:
            raise ResultError("name one goal, or two or three for a trade-off front")
        if not self.bounds:
            raise ResultError("nothing may change; give the range of a number or more")
        refuse_twice(goal.figure for goal in self.goals)
        refuse_twice(bound.path for bound in self.bounds)
        refuse_contradictions(self.limits)
        if self.trials < 1 or self.together < 1:
            raise ResultError("trials, and trials at a time, must be at least 1")

    @property
    def figures(self) -> list[str]:
        """The figures of goals and limits."""
        return [goal.figure for goal in self.goals] + [limit.figure for limit in self.limits]

    def words(self) -> str:
        """Return the search in words."""
        goals = " and ".join(goal.words() for goal in self.goals)
        limits = " and ".join(limit.words() for limit in self.limits)
        return f"{goals} with {limits}" if limits else goals

    def best(self, records: Sequence[Record]) -> int | None:
        """Return the place of the best design within limits, by the one goal."""
        sound = [
            place
            for place, record in enumerate(records)
            if within(record, self.limits) and math.isfinite(self.goals[0].gain(record))
        ]
        return max(sound, key=lambda place: self.goals[0].gain(records[place]), default=None)


def explore(
    setting: Setting,
    search: Search,
    journal: Journal,
    cluster: Cluster | None = None,
    progress: TrialProgress | None = None,
) -> list[Record]:
    """Return the records of all trials in order; the first is the scene as it stands."""
    optimiser = _optimiser(search, setting.seed)
    start = {bound.path: number_at(setting.scene, bound.path) for bound in search.bounds}
    if all(bound.low <= start[bound.path] <= bound.high for bound in search.bounds):
        optimiser.enqueue_trial(start)
    distributions = _distributions(search.bounds)
    records: list[Record] = []
    while len(records) < search.trials:
        count = min(search.together, search.trials - len(records))
        trials = [optimiser.ask(distributions) for _ in range(count)]
        points = [
            {bound.path: bound.rounded(trial.params[bound.path]) for bound in search.bounds}
            for trial in trials
        ]
        for trial, record in zip(
            trials, _measure(setting, search, points, records, journal, cluster), strict=True
        ):
            for number, short in enumerate(violations(record, search.limits)):
                trial.set_constraint(str(number), short)
            optimiser.tell(trial, [_value(goal, record) for goal in search.goals])
            before = search.best(records)
            records.append(record)
            if progress is not None:
                progress(len(records), search.trials, record, search.best(records) != before)
    return records


def _measure(
    setting: Setting,
    search: Search,
    points: Sequence[Point],
    earlier: Sequence[Record],
    journal: Journal,
    cluster: Cluster | None,
) -> list[Record]:
    """Trace points coarsely, and those that may still win to the wanted error."""
    wide = min(COARSE * setting.effort.relative_error, 0.5)
    coarse = setting.changed(effort=replace(setting.effort, relative_error=wide))
    limits = tuple((limit.figure, limit.bare_value) for limit in search.limits)
    setting = setting.changed(effort=replace(setting.effort, limits=limits))
    first = measure_all(coarse, points, journal.part("coarse"), cluster)
    best = search.best(earlier)
    leader = None if best is None else earlier[best]
    going_on = [
        point
        for point, record in zip(points, first, strict=True)
        if not _is_hopeless(record, leader, search)
    ]
    fine = iter(measure_all(setting, going_on, journal.part("fine"), cluster))
    return [
        next(fine) if point in going_on else record
        for point, record in zip(points, first, strict=True)
    ]


def _is_hopeless(record: Record, leader: Record | None, search: Search) -> bool:
    if "impossible" in record:
        return True
    if any(limit.violation(record, -CLEARLY_BEHIND) > 0.0 for limit in search.limits):
        return True
    if leader is None or len(search.goals) > 1:
        return False
    goal = search.goals[0]
    mine, theirs = (estimate_in(one, goal.figure) for one in (record, leader))
    behind = goal.gain(leader) - goal.gain(record)
    return behind > CLEARLY_BEHIND * math.hypot(mine.error, theirs.error)


def _value(goal: Goal, record: Record) -> float:
    """Return a goal's value for the optimiser; designs beyond limits are ranked by these alone."""
    value = estimate_in(record, goal.figure).value
    return value if math.isfinite(value) else -goal.sense * 1e9


def _optimiser(search: Search, seed: int) -> Any:
    try:
        import optuna
    except ImportError:
        raise ResultError(
            "tuning needs optuna; install it with pip install 'photonsim[studies]'"
        ) from None
    optuna.logging.set_verbosity(optuna.logging.WARNING)
    # Its seeds are 32 bits wide.
    seed %= 1 << 32
    directions: list[Any] = ["maximize" if goal.sense > 0 else "minimize" for goal in search.goals]

    with warnings.catch_warnings():
        # The joint model has borne the mark 'experimental' there for years.
        warnings.simplefilter("ignore", optuna.exceptions.ExperimentalWarning)
        if len(search.goals) > 1:
            population = max(12, min(50, search.trials // 6))
            sampler: Any = optuna.samplers.NSGAIISampler(population_size=population, seed=seed)
        else:
            sampler = optuna.samplers.TPESampler(
                n_startup_trials=max(10, 4 * len(search.bounds)),
                multivariate=True,
                constant_liar=search.together > 1,
                seed=seed,
            )
    return optuna.create_study(directions=directions, sampler=sampler)


def _distributions(bounds: Sequence[Bound]) -> dict[str, Any]:
    from optuna.distributions import FloatDistribution, IntDistribution

    for bound in bounds:
        if bound.whole and (bound.low != int(bound.low) or bound.high != int(bound.high)):
            raise SceneError([], f"{bound.path}: the range of a whole number has whole ends")
    return {
        bound.path: IntDistribution(int(bound.low), int(bound.high))
        if bound.whole
        else FloatDistribution(bound.low, bound.high)
        for bound in bounds
    }
