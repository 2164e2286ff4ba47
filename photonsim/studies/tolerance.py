"""Tolerance: many builds of one design, each a little off, and which dimension is to blame.

Dimensions are drawn by a Latin hypercube. The share of a figure's variance that a dimension brings
about on its own (the first-order sensitivity index of Sobol) is found from the same builds by
random balance designs (Tarantola, Gatelli and Mara, Reliab. Eng. Syst. Saf. 91, 717 (2006); SALib),
so that the number of builds does not grow with the number of dimensions.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Sequence
from dataclasses import astuple, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from photonsim.arrays import Reals
from photonsim.engine.cluster import Cluster
from photonsim.results import ResultError
from photonsim.results.estimate import decimal_places
from photonsim.results.files.study_table import FIGURE, PARAMETER, Column, StudyTable
from photonsim.scene import Mistake, Scene, SceneError, is_whole, number_at
from photonsim.studies.goals import Limit, refuse_contradictions, refuse_huge, refuse_twice
from photonsim.studies.journal import Journal, Record
from photonsim.studies.points import (
    Point,
    Progress,
    Setting,
    columns_of,
    figures_asked,
    measure_all,
)
from photonsim.version import __version__
from photonsim.words.text import aligned, folded, paragraph

# Below, the shares are mostly luck.
FEWEST_BUILDS = 100
# Harmonics by which a figure may depend on a dimension: over a tolerance it hardly wiggles more
# often.
HARMONICS = 6
RESAMPLES = 200
# Of a figure's variance: from here on luck may hide what the builds do.
MUCH_NOISE = 0.2


@dataclass(frozen=True)
class Tolerance:
    """How far a number may be off: uniformly by up to `reach`, or normally with that deviation."""

    path: str
    reach: float
    normal: bool = False

    def __post_init__(self) -> None:
        refuse_huge(self.path, self.reach)
        if not self.reach > 0.0:
            raise ResultError(f"{self.path}: ± {self.reach:g} must be more than 0")


def builds_of(scene: Scene, tolerances: Sequence[Tolerance], count: int, seed: int) -> list[Point]:
    """Return the numbers of `count` builds, drawn about those of the scene."""
    from SALib.sample import latin

    for tolerance in tolerances:
        if is_whole(scene, tolerance.path):
            mistake = Mistake(tolerance.path, "counts things, and a count has no tolerance")
            raise SceneError([mistake], "the tolerances")
    middle = [float(number_at(scene, tolerance.path)) for tolerance in tolerances]
    drawn = latin.sample(_problem(tolerances, middle), count, seed=seed % (1 << 32))
    return [
        {
            tolerance.path: float(f"{value:.9g}")
            for tolerance, value in zip(tolerances, row, strict=True)
        }
        for row in drawn
    ]


def variance_shares(
    tolerances: Sequence[Tolerance], inputs: Reals, outputs: Reals, seed: int = 1
) -> tuple[Reals, Reals]:
    """Return each dimension's share of the variance of `outputs` [n], with standard errors.

    `inputs` is [n, dimensions]. Shares of luck scatter about 0 and may come out below it.
    """
    from SALib.analyze import rbd_fast

    sound = np.isfinite(outputs)
    if sound.sum() < FEWEST_BUILDS // 2 or np.ptp(outputs[sound]) == 0.0:
        nothing = np.full(len(tolerances), np.nan)
        return nothing, nothing
    found = rbd_fast.analyze(
        _problem(tolerances, [0.0] * len(tolerances)),
        inputs[sound],
        outputs[sound],
        M=HARMONICS,
        num_resamples=RESAMPLES,
        conf_level=0.6826894921370859,
        seed=seed,
    )
    # Its interval comes from samples of half the size: the full sample is surer by the root of two.
    return np.array(found["S1"], float), np.array(found["S1_conf"], float) / math.sqrt(2.0)


def tolerance_study(
    setting: Setting,
    tolerances: Sequence[Tolerance],
    builds: int,
    limits: Sequence[Limit] = (),
    folder: Path | None = None,
    figures: Sequence[str] = (),
    *,
    fresh: bool = False,
    cluster: Cluster | None = None,
    progress: Progress | None = None,
) -> StudyTable:
    """Trace the builds and return their table, its facts telling nominal values, yield and shares.

    All builds share their random numbers. Raises SceneError for an unknown path, ResultError for
    too few builds, a folder with another study, or where SALib is missing.
    """
    try:
        import SALib  # noqa: F401
    except ImportError:
        raise ResultError(
            "tolerances need SALib; install it with pip install 'photonsim[studies]'"
        ) from None
    if builds < FEWEST_BUILDS:
        raise ResultError(f"builds = {builds}: {FEWEST_BUILDS} at least, or all is luck")
    if not tolerances:
        raise ResultError("nothing varies; give the tolerance of a number or more")
    names = figures_asked(setting, (limit.figure for limit in limits), figures)
    refuse_twice(one.path for one in tolerances)
    refuse_contradictions(limits)
    points = builds_of(setting.scene, tolerances, builds, setting.seed)
    drawn = {"tolerances": [list(astuple(one)) for one in tolerances], "builds": builds}
    definition = json.loads(json.dumps(setting.definition("tolerance") | drawn))
    nominal = {one.path: float(number_at(setting.scene, one.path)) for one in tolerances}
    with Journal(folder, definition, fresh) as journal:
        first, *records = measure_all(setting, [nominal, *points], journal, cluster, progress)
    columns = columns_of(setting.scene, records, names)
    if not any(np.isfinite(column.values).any() for column in columns if column.role == FIGURE):
        raise ResultError(
            f"none of the {builds} builds is a possible lamp; are the tolerances as meant?"
        )
    scene = setting.scene
    table = StudyTable("tolerance", scene.title, scene.text, columns)
    facts = _nominal_facts(setting.scene, first, names) | _limit_facts(records, limits)
    for name in names:
        facts |= _share_facts(table, tolerances, name)
    return replace(table, facts=facts, program_version=__version__)


def as_text(table: StudyTable) -> str:
    """Return the study for a terminal: scatter of each figure, what makes it, the yield."""
    scatter = aligned(scatter_rows(table), (0,), ruled=True)
    return "\n\n".join([scatter, *folded(share_rows(table), (0,), 1), paragraph(outcome(table))])


def scatter_rows(table: StudyTable) -> list[list[str]]:
    """Return how far each figure scatters, the headings first.

    All to the second digit of the spread: a lamp strays by as much.
    """
    scatter = [["", "as designed", "mean ± spread", "nine of ten", "luck, % of variance"]]
    for column in _figures(table):
        sound = column.values[np.isfinite(column.values)]
        low, high = np.percentile(sound, (5.0, 95.0))
        noise = table.facts.get(f"noise {column.name}", math.nan)
        nominal = table.facts.get(f"nominal {column.name}", math.nan)
        spread = float(sound.std(ddof=1)) if len(sound) > 1 else 0.0
        scatter.append(
            [
                column.heading,
                _to_the_spread(nominal, spread) if nominal == nominal else "unknown",
                f"{_to_the_spread(float(sound.mean()), spread)} ± {_to_the_spread(spread, spread)}",
                f"{_to_the_spread(low, spread)} to {_to_the_spread(high, spread)}",
                f"{100.0 * noise:.0f} at most" if noise == noise else "unknown",
            ]
        )
    return scatter


def share_rows(table: StudyTable) -> list[list[str]]:
    """Return how much of each figure's variance a number brings about, the headings first."""
    figures = _figures(table)
    blame = [["share of variance, %", *(column.label for column in figures)]]
    for one in table.with_role(PARAMETER):
        blame.append([one.name, *(_share_text(table, column, one.name) for column in figures)])
    return blame


def outcome(table: StudyTable) -> str:
    """Return the yield, what to measure carefully, and whether luck hides it."""
    return " ".join(_outcome(table, _figures(table)))


def _figures(table: StudyTable) -> list[Column]:
    return [c for c in table.with_role(FIGURE) if np.isfinite(c.values).any()]


def _to_the_spread(value: float, spread: float) -> str:
    places = decimal_places(spread) if spread > 0.0 else 3
    return f"{round(value, places) + 0.0:.{max(places, 0)}f}"


def _share_text(table: StudyTable, column: Column, path: str) -> str:
    share = table.facts[f"share {column.name} {path}"]
    error = table.facts[f"share error {column.name} {path}"]
    return f"{100.0 * share:.0f} ± {100.0 * error:.0f}" if share == share else "unknown"


def _outcome(table: StudyTable, figures: Sequence[Column]) -> Iterator[str]:
    facts = table.facts
    if "yield" in facts:
        low, high = (100.0 * facts[f"yield {end}"] for end in ("low", "high"))
        yield (
            f"yield: {100.0 * facts['yield']:.1f} % of builds within all limits (95 % interval "
            f"{low:.1f} to {high:.1f} %)."
        )
    paths = [column.name for column in table.with_role(PARAMETER)]
    for column in figures[:1]:
        shares = {path: facts[f"share {column.name} {path}"] for path in paths}
        path = max(shares, key=lambda one: np.nan_to_num(shares[one], nan=-1.0))
        if shares[path] > 2.0 * facts[f"share error {column.name} {path}"]:
            yield f"Measure {path} most carefully: it moves {column.label} most."
        if facts.get(f"noise {column.name}", 0.0) > MUCH_NOISE:
            yield (
                f"Much of the scatter of {column.label} may be luck: a smaller --relative-error "
                "shows what the builds themselves do."
            )


def _problem(tolerances: Sequence[Tolerance], middle: Sequence[float]) -> dict[str, Any]:
    return {
        "num_vars": len(tolerances),
        "names": [one.path for one in tolerances],
        "bounds": [
            [value, one.reach] if one.normal else [value - one.reach, value + one.reach]
            for one, value in zip(tolerances, middle, strict=True)
        ],
        "dists": ["norm" if one.normal else "unif" for one in tolerances],
    }


def _nominal_facts(scene: Scene, record: Record, names: Sequence[str]) -> dict[str, float]:
    columns = {column.name: column for column in columns_of(scene, [record], names)}
    return {f"nominal {name}": float(columns[name].values[0]) for name in names}


def _limit_facts(records: Sequence[Record], limits: Sequence[Limit]) -> dict[str, float]:
    if not limits:
        return {}
    facts = {
        f"{'least' if limit.sense > 0 else 'most'} {limit.figure}": limit.value for limit in limits
    }
    # A build counts as it is measured: on the whole, luck lifts as many over a limit as it drops.
    good = sum(
        "impossible" not in record and all(one.violation(record, 0.0) <= 0.0 for one in limits)
        for record in records
    )
    from scipy.stats import binomtest  # 0.5 s of a start

    interval = binomtest(good, len(records)).proportion_ci(method="wilson")
    return facts | {
        "yield": good / len(records),
        "yield low": float(interval.low),
        "yield high": float(interval.high),
    }


def _share_facts(table: StudyTable, tolerances: Sequence[Tolerance], name: str) -> dict[str, float]:
    column = table[name]
    inputs = np.column_stack([table[one.path].values for one in tolerances])
    shares, errors = variance_shares(tolerances, inputs, column.values)
    facts = {}
    for one, share, error in zip(tolerances, shares, errors, strict=True):
        facts[f"share {name} {one.path}"] = float(share)
        facts[f"share error {name} {one.path}"] = float(error)
    facts[f"noise {name}"] = _share_of_noise(column)
    return facts


def _share_of_noise(column: Column) -> float:
    """Return how much of a figure's variance is luck; nan where too few builds tell."""
    if column.errors is None:
        return math.nan
    # A figure may be withheld in some builds, and in all.
    sound = np.isfinite(column.values) & np.isfinite(column.errors)
    if sound.sum() < 2 or np.ptp(column.values[sound]) == 0.0:
        return math.nan
    noise = np.mean(column.errors[sound] ** 2) / np.var(column.values[sound], ddof=1)
    return min(float(noise), 1.0)
