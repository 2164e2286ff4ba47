"""Sweep: numbers of a scene varied on a grid, over a low-discrepancy sample or by a list."""

from __future__ import annotations

import csv
import itertools
import math
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from photonsim.engine.cluster import Cluster
from photonsim.results import ResultError
from photonsim.results.files.study_table import StudyTable
from photonsim.scene import Scene, is_whole
from photonsim.studies.goals import LARGEST, refuse_huge, refuse_twice
from photonsim.studies.journal import Journal
from photonsim.studies.points import (
    Point,
    Progress,
    Setting,
    columns_of,
    figures_asked,
    measure_all,
)
from photonsim.version import __version__

# More points than anyone waits for are surely a slip of the pen.
MOST_POINTS = 1_000_000


def even_steps(low: float, high: float, count: int) -> list[float]:
    """Return `count` values from low to high in even steps. Raises ResultError."""
    sensible = abs(low) <= LARGEST and abs(high) <= LARGEST and (count == 1 or low < high)
    if not (1 <= count <= MOST_POINTS and sensible):
        raise ResultError(
            f"a range from {low:g} to {high:g} in {count} values makes no sense; name the least "
            f"number first, then the largest, then how many values, up to {MOST_POINTS:,}"
        )
    return [float(f"{value:.9g}") for value in np.linspace(low, high, count)]


def grid(values: Mapping[str, Sequence[float]]) -> list[Point]:
    """Return every combination of the values of some paths, the last path varying fastest."""
    count = int(np.prod([len(listed) for listed in values.values()], dtype=float))
    if not 1 <= count <= MOST_POINTS:
        raise ResultError(f"the grid has {count:,} points; from 1 to {MOST_POINTS:,} are possible")
    return [
        dict(zip(values, chosen, strict=True)) for chosen in itertools.product(*values.values())
    ]


def sample(
    scene: Scene, ranges: Mapping[str, tuple[float, float]], count: int, seed: int
) -> list[Point]:
    """Return a low-discrepancy sample of ranges (Halton's sequence, scrambled; scipy.stats.qmc).

    A longer sample of the same seed begins with the shorter one, so that a study can grow.
    """
    if not 1 <= count <= MOST_POINTS:
        raise ResultError(f"a sample of {count:,} points; from 1 to {MOST_POINTS:,} are possible")
    from scipy.stats import qmc  # 0.5 s of a start

    units = qmc.Halton(len(ranges), scramble=True, seed=seed).random(count)
    points = []
    for unit in units:
        point: Point = {}
        for share, (path, (low, high)) in zip(unit, ranges.items(), strict=True):
            if is_whole(scene, path):
                point[path] = int(low + share * (high - low + 1.0))
            else:
                point[path] = float(f"{low + share * (high - low):.6g}")
        points.append(point)
    return points


def points_from_csv(path: Path) -> list[Point]:
    """Return points from a CSV file with paths as heading. Raises ResultError, with the line."""
    try:
        if path.exists() and not path.is_file():
            raise OSError("it is a folder or no ordinary file")
        with path.open(encoding="utf-8-sig", newline="") as file:
            rows = [row for row in csv.reader(file) if any(cell.strip() for cell in row)]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        why = getattr(error, "strerror", None) or error
        raise ResultError(f"{path}: can't be read ({why})") from None
    if len(rows) < 2:
        raise ResultError(f"{path}: needs a heading of paths and at least one line of numbers")
    # A table of ours carries the unit in its headings: "train.film.z_mm [mm]".
    heads = [head.split(" [")[0].strip() for head in rows[0]]
    refuse_twice(heads)
    points = []
    for number, row in enumerate(rows[1:], 2):
        if len(row) != len(heads):
            raise ResultError(f"{path}: line {number} has {len(row)} values, not {len(heads)}")
        try:
            points.append({head: _finite(cell) for head, cell in zip(heads, row, strict=True)})
        except ValueError:
            raise ResultError(f"{path}: line {number} holds something that is no number") from None
    return points


def sweep(
    setting: Setting,
    points: Sequence[Point],
    folder: Path | None = None,
    figures: Sequence[str] = (),
    *,
    fresh: bool = False,
    cluster: Cluster | None = None,
    progress: Progress | None = None,
) -> StudyTable:
    """Trace a scene at all points and return the table; with a folder, it can be killed and go on.

    All points share their random numbers, so that neighbours differ by design and not by luck.
    Raises SceneError for an unknown path and ResultError where the folder holds another study.
    """
    names = figures_asked(setting, (), figures)
    for path in points[0]:
        is_whole(setting.scene, path)
        refuse_huge(path, *(point[path] for point in points))
    with Journal(folder, setting.definition("sweep"), fresh) as journal:
        records = measure_all(setting, points, journal, cluster, progress)
    columns = columns_of(setting.scene, records, names)
    scene, version = setting.scene, __version__
    return StudyTable("sweep", scene.title, scene.text, columns, program_version=version)


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise ValueError(f"{text} is not finite")
    return number


def numbers_in(text: str) -> list[float]:
    """Return the numbers of a list such as '8, 12, 16'. Raises ResultError."""
    try:
        return [_finite(number) for number in text.split(",")]
    except ValueError:
        raise ResultError(f"{text!r} is no list of numbers; write it as 8,12,16") from None
