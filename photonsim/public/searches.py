"""Studies of many designs: numbers varied, searched for, off by a little, fitted to readings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from os import PathLike

from photonsim.arrays import Whole
from photonsim.engine.cluster import Cluster
from photonsim.engine.pilot import Guiding
from photonsim.public.given import (
    Lamp,
    Lamps,
    Place,
    folder_of,
    named,
    names,
    plain_number,
    plain_numbers,
    ranges,
    seed_of,
)
from photonsim.results import ResultError, scene_of
from photonsim.results.errors import whole_number
from photonsim.results.files.soundness import MOST_PHOTONS
from photonsim.results.files.study_table import StudyTable
from photonsim.scene import Scene
from photonsim.studies.comparing.race import RaceOutcome, RaceRule, entered
from photonsim.studies.comparing.race import race as run_race
from photonsim.studies.effort import Effort
from photonsim.studies.fitting.fit import Fit, Free
from photonsim.studies.fitting.fit import fit as fitted
from photonsim.studies.goals import Goal, Limit, bounds_of
from photonsim.studies.points import Progress, Setting
from photonsim.studies.search import Search, TrialProgress
from photonsim.studies.sweep import MOST_POINTS, grid, sample
from photonsim.studies.sweep import sweep as run_sweep
from photonsim.studies.tolerance import Tolerance, tolerance_study
from photonsim.studies.tune import Tuning
from photonsim.studies.tune import tune as run_tune
from photonsim.workshop.readings import Reading, load_readings

# What a study spends on a design at most, and a fit on each lamp.
MOST, FIT_PHOTONS = 20_000_000, 1_000_000


def sweep(
    scene: Lamp,
    values: Mapping[str, Sequence[float]] | Sequence[Mapping[str, float]],
    *,
    designs: Whole | None = None,
    figures: str | Sequence[str] = (),
    relative_error: float = 0.01,
    figure: str = "collected_fraction",
    photons: Whole = MOST,
    seed: Whole = 1,
    guide: Guiding = "auto",
    ties: Mapping[str, str] | None = None,
    threads: int | None = None,
    folder: Place | None = None,
    fresh: bool = False,
    cluster: Cluster | None = None,
    progress: Progress | None = None,
) -> StudyTable:
    """Vary numbers of a scene, trace every design and return one table.

    `values` gives the numbers at each path, of which every combination is traced, or else a list of
    designs, each with a number at every path. With a count of `designs`, so many are spread evenly
    over the ranges of `values` instead. Each design is traced until `figure` has the
    `relative_error`, with `photons` at most, and emission guided as in `trace`: with "auto" by a
    pilot of `scene`. `ties` maps a path to the one whose number it follows.
    With a `folder` the study can be broken off and goes on there; `fresh` begins it anew.
    Raises SceneError for an unknown path, ResultError for what else makes no sense.

    >>> import photonsim
    >>> heights = {"train.film.z_mm": [10, 14, 18]}
    >>> table = photonsim.sweep("scenes/d_split_film.toml", heights, photons=1e5)
    >>> table["train.film.z_mm"].values
    array([10., 14., 18.])
    """
    lamp = scene_of(scene)
    if not values:
        raise ResultError("nothing varies; give the values of a number or more")
    if not isinstance(values, Mapping):
        points = [{path: plain_number(path, n) for path, n in point.items()} for point in values]
    elif designs is None:
        points = grid({path: plain_numbers(path, numbers) for path, numbers in values.items()})
    else:
        listed = {path: plain_numbers(path, numbers) for path, numbers in values.items()}
        limits = {path: (min(numbers), max(numbers)) for path, numbers in listed.items()}
        count = whole_number("designs", designs, 1, MOST_POINTS)
        points = sample(lamp, limits, count, seed_of(seed))
    setting = _setting(lamp, relative_error, figure, photons, seed, guide, ties, threads)
    where = folder_of(folder)
    return run_sweep(
        setting, points, where, names(figures), fresh=fresh, cluster=cluster, progress=progress
    )


def race(
    scenes: Lamps,
    figure: str = "collected_lm",
    *,
    least: bool = False,
    photons: Whole = 8_388_608,
    false_alarm: float = 0.05,
    worth: float = 0.0,
    seed: Whole = 1,
    guide: Guiding = "auto",
    threads: int | None = None,
    folder: Place | None = None,
    fresh: bool = False,
    cluster: Cluster | None = None,
) -> RaceOutcome:
    """Find the best of several scenes with no more photons than the decision takes.

    Most of `figure` wins, or `least` of it; `photons` are the most to spend on a design.
    `false_alarm` are the odds, for the whole race, that luck calls a design a loser. Differences
    below the share `worth` need not be told apart. `guide` is as in `compare`. With a `folder` a
    race goes on where it was broken off; `fresh` begins it anew. Raises ResultError, SceneError.

    >>> import photonsim
    >>> scenes = ["scenes/a_bars.toml", "scenes/d_split_film.toml"]
    >>> outcome = photonsim.race(scenes, photons=1e5)
    >>> outcome.labels[outcome.winner]
    'Bars and film in strips'
    """
    found = {label: scene_of(lamp) for label, lamp in named(scenes).items()}
    most = whole_number("photons", photons, 1, MOST_PHOTONS)
    rule = RaceRule(figure, most, false_alarm, worth, -1 if least else 1)
    where, luck = folder_of(folder), seed_of(seed)
    tracer, journal = entered(found, rule, luck, guide, where, threads, cluster, fresh)
    with journal:
        return run_race(list(found), rule, tracer, journal)


def tune(
    scene: Lamp,
    between: Mapping[str, tuple[float, float]],
    *,
    most: str | Sequence[str] = (),
    least: str | Sequence[str] = (),
    at_least: Mapping[str, float] | None = None,
    at_most: Mapping[str, float] | None = None,
    trials: Whole = 150,
    together: Whole = 1,
    relative_error: float = 0.01,
    figure: str = "collected_fraction",
    photons: Whole = MOST,
    seed: Whole = 1,
    guide: Guiding = "auto",
    ties: Mapping[str, str] | None = None,
    threads: int | None = None,
    folder: Place | None = None,
    fresh: bool = False,
    cluster: Cluster | None = None,
    progress: TrialProgress | None = None,
) -> Tuning:
    """Search for the best design within limits, or for the front between two or three goals.

    `between` gives the range of each number that may change, by its path; `most` and `least` name
    the goals. Limits stand in the units that tables print: 2 for a structure of 2 %. `trials`
    designs are tried, so many of them `together`; the rest as in `sweep`. The winner is traced
    afresh with other random numbers. Raises ResultError, also where optuna is missing, and
    SceneError for an unknown path.

    >>> import photonsim
    >>> film = {"train.film.z_mm": (8, 24)}
    >>> scene = "scenes/d_split_film.toml"
    >>> tuning = photonsim.tune(scene, film, most="collected", trials=3, photons=1e5)
    >>> len(tuning.table), tuning.scene.title
    (3, 'Bars and film in strips, tuned')
    """
    lamp = scene_of(scene)
    goals = [Goal(name, 1) for name in names(most)] + [Goal(name, -1) for name in names(least)]
    search = Search(
        tuple(goals),
        tuple(_limits(at_least, at_most)),
        tuple(bounds_of(lamp, ranges(between))),
        whole_number("trials", trials, 1, MOST_POINTS),
        whole_number("together", together, 1, MOST_POINTS),
    )
    setting = _setting(lamp, relative_error, figure, photons, seed, guide, ties, threads)
    table, winner = run_tune(
        setting, search, folder_of(folder), fresh=fresh, cluster=cluster, progress=progress
    )
    return Tuning.of(setting, search, table, winner)


def tolerance(
    scene: Lamp,
    within: Mapping[str, float] | None = None,
    about: Mapping[str, float] | None = None,
    *,
    builds: Whole = 200,
    at_least: Mapping[str, float] | None = None,
    at_most: Mapping[str, float] | None = None,
    figures: str | Sequence[str] = (),
    relative_error: float = 0.005,
    figure: str = "collected_fraction",
    photons: Whole = MOST,
    seed: Whole = 1,
    guide: Guiding = "auto",
    ties: Mapping[str, str] | None = None,
    threads: int | None = None,
    folder: Place | None = None,
    fresh: bool = False,
    cluster: Cluster | None = None,
    progress: Progress | None = None,
) -> StudyTable:
    """Trace many builds of a scene, each a little off: the scatter, the yield, and what matters.

    Numbers lie `within` so much of those of the scene, each place as likely as the others, or
    normally `about` them with such a standard deviation, by their paths. Limits stand in the units
    that tables print; the rest as in `sweep`. The table's `facts` hold nominal values, yield and
    shares of the variance. Raises ResultError, also where SALib is missing, and SceneError for an
    unknown path.

    >>> import photonsim
    >>> slack = {"train.film.z_mm": 1.0}
    >>> scene = "scenes/d_split_film.toml"
    >>> table = photonsim.tolerance(scene, slack, builds=100, photons=20_000)
    >>> len(table)
    100
    """
    tolerances = [
        Tolerance(path, plain_number(path, reach), is_normal)
        for given, is_normal in ((within, False), (about, True))
        for path, reach in (given or {}).items()
    ]
    return tolerance_study(
        _setting(scene_of(scene), relative_error, figure, photons, seed, guide, ties, threads),
        tolerances,
        whole_number("builds", builds, 1, MOST_POINTS),
        _limits(at_least, at_most),
        folder_of(folder),
        names(figures),
        fresh=fresh,
        cluster=cluster,
        progress=progress,
    )


def fit(
    scene: Lamp,
    readings: Place | Sequence[Reading],
    free: Mapping[str, tuple[float, float]],
    *,
    photons: Whole = FIT_PHOTONS,
    seed: Whole = 1,
    threads: int | None = None,
    cell_mm: float = 10.0,
    relative: bool = False,
    confidence: float = 0.95,
) -> Fit:
    """Fit numbers of a scene to what a light meter showed, with limits at a confidence.

    `readings` are lux with their uncertainties, as `Reading` or a CSV file (`photonsim fit --help`
    lists its columns); `free` gives the range of each number, by its path; `cell_mm` is the
    diameter of the meter's cell. With `relative` only ratios of readings count. Raises SceneError
    for a path or a range that makes no lamp, ResultError for too few readings.

    >>> import photonsim
    >>> readings = [
    ...     photonsim.Reading("panel", 13_000.0, 400.0, x_mm=x_mm) for x_mm in (-30.0, 0.0, 30.0)
    ... ]
    >>> walls = {"housing.walls.reflectance": (0.0, 0.9)}
    >>> fit = photonsim.fit("scenes/d_split_film.toml", readings, walls, photons=20_000)
    >>> list(fit.values)
    ['housing.walls.reflectance']
    """
    lamp = scene_of(scene)
    return fitted(
        lamp,
        load_readings(readings, lamp) if isinstance(readings, str | PathLike) else readings,
        [Free(*number) for number in ranges(free)],
        photons=whole_number("photons", photons, 1, MOST_PHOTONS),
        seed=seed_of(seed),
        threads=threads,
        cell_mm=cell_mm,
        relative=relative,
        confidence=confidence,
    )


def _setting(
    scene: Scene,
    relative_error: float,
    figure: str,
    photons: Whole,
    seed: Whole,
    guide: Guiding,
    ties: Mapping[str, str] | None,
    threads: int | None,
) -> Setting:
    most = whole_number("photons", photons, 1, MOST_PHOTONS)
    effort = Effort(relative_error, figure, most)
    return Setting(scene, effort, seed_of(seed), ties or {}, threads, guide)


def _limits(
    at_least: Mapping[str, float] | None, at_most: Mapping[str, float] | None
) -> list[Limit]:
    return [
        Limit(name, sense, plain_number(name, value))
        for given, sense in ((at_least, 1), (at_most, -1))
        for name, value in (given or {}).items()
    ]
