"""Every row of a write-up holds the numbers of its own design, in the unit that stands beside."""

from pathlib import Path

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.report import compose
from photonsim.report.content import Table
from photonsim.report.sections import design
from photonsim.report.workshop import study
from photonsim.results.files.study_table import Column, StudyTable
from photonsim.scene import load_scene, parse_scene


@pytest.fixture(scope="module")
def lamps():
    """(label, result, paths) of a lamp and of one with twice the flux, the brighter one last."""
    dim = load_scene(Path(__file__).parents[1] / "small_lamps" / "point_lamp.toml")
    bright = parse_scene(dim.text.replace("flux_lm = 900.0", "flux_lm = 1800.0"))
    assert bright.flux_lm == 2.0 * dim.flux_lm
    return [("dim", trace(dim, photons=20_000), []), ("bright", trace(bright, photons=20_000), [])]


def tables_of(section):
    return [block for block in section.blocks if isinstance(block, Table)]


def number(cell):
    return float(cell.split(" ±")[0].split()[0])


def test_table_of_a_design_is_in_its_own_unit(lamps):
    label, result, paths = lamps[0]
    rows = dict(tables_of(design(label, result, paths, "one"))[0].rows)
    share = 100.0 * result.tallies.batches["collected"].sum() / result.emitted
    cell = next(cell for head, cell in rows.items() if head.startswith("collected fraction"))
    assert number(cell) == pytest.approx(share, rel=0.02)
    assert cell.endswith("%")


def test_designs_side_by_side_have_their_own_light(lamps):
    write_up = compose(lamps)
    section = next(section for section in write_up.sections if section.anchor == "designs")
    ranking, ledger = tables_of(section)
    place = ranking.heads.index("collected, lm")
    assert [row[1] for row in ranking.rows] == ["bright", "dim"]
    bright, dim = (number(row[place]) for row in ranking.rows)
    assert bright == pytest.approx(2.0 * dim, rel=0.01)
    assert [row[1] for row in ledger.rows] == ["bright", "dim"]
    moved = ranking.rows[0][ranking.heads.index("difference, lm")]
    assert number(moved) == pytest.approx(bright - dim, rel=0.02)


def test_what_to_cut_is_that_of_the_brightest_design(lamps):
    write_up = compose(lamps)
    section = next(section for section in write_up.sections if section.anchor == "cutting")
    assert "The parts of 'bright'" in section.blocks[0].text
    photons = sum(result.photons for _, result, _ in lamps)
    assert write_up.subtitle == f"2 designs, {photons:,} photons traced"


def test_table_of_a_study_has_each_design_in_its_row():
    values = np.array([0.9, 1.1, 1.3])
    table = StudyTable("sweep", "t", "", (
        Column("train.film.z_mm", "film, z", "mm", "parameter", np.array([8.0, 10.0, 12.0])),
        Column("collected_lm", "collected", "lm", "figure", values, np.array([0.01, 0.02, 0.03])),
    ))  # fmt: skip
    (printed,) = tables_of(study(table, "study-1"))
    assert [[float(cell) for cell in row] for row in printed.rows] == [
        [8.0, 0.9],
        [10.0, 1.1],
        [12.0, 1.3],
    ]
