"""Tolerances: shares against a published function, yield, and builds drawn as asked."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from photonsim.results import FIGURES, ResultError
from photonsim.results.files.study_table import FIGURE, Column, StudyTable
from photonsim.scene import SceneError, load_scene
from photonsim.studies.effort import Effort
from photonsim.studies.goals import Limit
from photonsim.studies.points import Setting
from photonsim.studies.tolerance import (
    Tolerance,
    as_text,
    builds_of,
    scatter_rows,
    tolerance_study,
    variance_shares,
)

SCENE = load_scene(Path(__file__).parents[2] / "scenes" / "d_split_film.toml")


def test_shares_of_the_ishigami_function() -> None:
    # sin x + 7 sin(y)**2 + 0.1 z**4 sin x over -pi..pi: first-order shares 0.3139, 0.4424, 0
    # (Ishigami and Homma, ISUMA '90 (1990); analytic variances in Sobol and Levitan, Comput. Phys.
    # Commun. 117, 52 (1999)).
    reach = [Tolerance(name, np.pi) for name in "xyz"]
    x = np.random.default_rng(3).uniform(-np.pi, np.pi, (4000, 3))
    y = np.sin(x[:, 0]) + 7 * np.sin(x[:, 1]) ** 2 + 0.1 * x[:, 2] ** 4 * np.sin(x[:, 0])
    shares, errors = variance_shares(reach, x, y)
    assert shares == pytest.approx([0.3139, 0.4424, 0.0], abs=0.03)
    # The errors that are told cover what was missed, within four of them.
    assert np.all(np.abs(shares - [0.3139, 0.4424, 0.0]) < 4 * errors)
    assert np.all(errors < 0.02)


def test_noise_takes_its_share_from_nobody() -> None:
    rng = np.random.default_rng(4)
    x = rng.normal(size=(2000, 2))
    y = x[:, 0] + rng.normal(size=2000)
    shares, _ = variance_shares([Tolerance(name, 1.0, True) for name in "ab"], x, y)
    assert shares == pytest.approx([0.5, 0.0], abs=0.05)


def test_builds_scatter_as_asked() -> None:
    asked = [
        Tolerance("train.film.z_mm", 1.0),
        Tolerance("housing.walls.reflectance", 0.01, normal=True),
    ]
    builds = builds_of(SCENE, asked, 400, seed=1)
    z = np.array([build["train.film.z_mm"] for build in builds]) - SCENE.train["film"].z_mm
    assert -1.0 <= z.min() < -0.99
    assert 0.99 < z.max() <= 1.0
    wall = np.array([build["housing.walls.reflectance"] for build in builds])
    assert wall.mean() == pytest.approx(SCENE.housing.walls.reflectance, abs=1e-4)
    assert wall.std() == pytest.approx(0.01, rel=0.03)


def test_counts_and_few_builds_are_refused() -> None:
    with pytest.raises(SceneError, match="count has no tolerance"):
        builds_of(SCENE, [Tolerance("emitters.bars.rows", 1.0)], 10, 1)
    with pytest.raises(ResultError, match="100 at least"):
        tolerance_study(Setting(SCENE), [Tolerance("train.film.z_mm", 1.0)], 20)
    with pytest.raises(ResultError, match="more than 0"):
        Tolerance("train.film.z_mm", 0.0)


def test_yield_counts_builds_as_they_are_measured(monkeypatch) -> None:
    """Of builds spread evenly about a limit half pass it, however unsure each is: by symmetry.

    One in five lies within a standard error of the limit: asked for a reserve of one error, 40 %
    would be left. Wilson's interval for 50 of 100 at 95 %: 40.4 to 59.6 % (E. B. Wilson, J. Am.
    Stat. Assoc. 22, 209 (1927); computed by hand).
    """
    found = iter(np.linspace(0.55, 1.45, 101))

    def measured(setting, points, journal, cluster, progress):
        return [
            {
                "point": point,
                "photons": 1,
                "figures": {name: [next(found) if name == "collected_lm" else 1.0, 0.09, None]
                            for name in FIGURES},
            }
            for point in points
        ]  # fmt: skip

    monkeypatch.setattr("photonsim.studies.tolerance.measure_all", measured)
    asked = [Tolerance("train.film.z_mm", 1.0)]
    figures = ["collected_lm"]
    table = tolerance_study(
        Setting(SCENE), asked, 100, [Limit("collected_lm", 1, 1.0001)], None, figures
    )
    assert table.facts["yield"] == pytest.approx(0.5, abs=0.011)
    assert table.facts["yield low"] == pytest.approx(0.404, abs=0.012)
    assert table.facts["yield high"] == pytest.approx(0.596, abs=0.012)
    found = iter(np.linspace(0.55, 1.45, 101))
    table = tolerance_study(
        Setting(SCENE), asked, 100, [Limit("collected_lm", -1, 0.7)], None, figures
    )
    assert table.facts["yield"] == pytest.approx(0.16, abs=0.011)


def test_a_figure_that_is_withheld_has_no_noise_to_tell(monkeypatch, recwarn) -> None:
    """Known in no build: nothing is told. Known in some: 0.1**2 over the variance of those."""
    known, sure = 0, {"collected_fraction": [1.0, 0.1, None]}

    def measured(setting, points, journal, spread, told):
        lucky = [[(-1.0) ** k, 0.1, None] if k < known else [None] * 3 for k in range(len(points))]
        return [
            {"point": point, "photons": 1, "figures": sure | {"uniformity": one}}
            for point, one in zip(points, lucky, strict=True)
        ]

    monkeypatch.setattr("photonsim.studies.tolerance.measure_all", measured)
    asked, figures = [Tolerance("train.film.z_mm", 1.0)], ["collected_fraction", "uniformity"]
    table = tolerance_study(Setting(SCENE), asked, 100, [], None, figures)
    assert math.isnan(table.facts["noise uniformity"])
    # Forty builds, and the lamp as it is meant, which is none of them.
    known = 41
    table = tolerance_study(Setting(SCENE), asked, 100, [], None, figures)
    assert table.facts["noise uniformity"] == pytest.approx(0.01 * 39 / 40)
    assert not recwarn.list


def test_the_scatter_is_told_to_the_second_digit_of_its_spread() -> None:
    """A hundred builds of -1 and as many of 2: by hand, 0.5 and 1.5 √(200/199) = 1.504."""
    values = np.repeat([-1.0, 2.0], 100)
    column = Column("structure", "structure", "%", FIGURE, values, np.full(200, 0.1))
    facts = {"nominal structure": 0.81234, "noise structure": 0.004}
    _, row = scatter_rows(StudyTable("tolerance", "", "", (column,), facts))
    assert row == ["structure, %", "0.8", "0.5 ± 1.5", "-1.0 to 2.0", "0 at most"]
    wide = replace(column, values=1000.0 * values)
    _, row = scatter_rows(StudyTable("tolerance", "", "", (wide,), {}))
    assert row[1:4] == ["unknown", "500 ± 1500", "-1000 to 2000"]


def test_the_stop_matters_and_a_far_wall_does_not(tmp_path: Path) -> None:
    setting = Setting(SCENE, Effort(0.1, "incident_fraction", 65_536), threads=1)
    asked = [
        Tolerance("train.stop.diameter_mm", 4.0),
        Tolerance("housing.walls.reflectance", 0.01),
    ]
    limits = [Limit("collected_lm", 1, 1.07)]
    table = tolerance_study(setting, asked, 100, limits, tmp_path, ["collected_lm"])
    assert table.facts["share collected_lm train.stop.diameter_mm"] > 0.8
    assert table.facts["share collected_lm housing.walls.reflectance"] < 0.2
    assert 0.2 < table.facts["yield"] < 0.8
    told = as_text(table)
    assert "train.stop.diameter_mm" in told
    assert "yield: " in told.split("\n\n")[-1]
    assert all(len(line) <= 80 for line in told.splitlines())
