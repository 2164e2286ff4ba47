"""Every row of a write-up holds the numbers of its own design, in the unit that stands beside."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from photonsim.engine import sample_paths, trace
from photonsim.report import compose
from photonsim.report.content import Folded, Paragraph, Table
from photonsim.report.studies import study
from photonsim.results.files.study_table import Column, StudyTable
from photonsim.scene import load_scene, parse_scene


@pytest.fixture(scope="module")
def lamps():
    """(label, result) of a lamp and of one with twice the flux, the brighter one last."""
    dim = load_scene(Path(__file__).parents[1] / "small_lamps" / "point_lamp.toml")
    bright = parse_scene(dim.text.replace("flux_lm = 900.0", "flux_lm = 1800.0"))
    assert bright.flux_lm == 2.0 * dim.flux_lm
    return [("dim", trace(dim, photons=20_000)), ("bright", trace(bright, photons=20_000))]


def section_of(write_up, anchor):
    return next(section for section in write_up.sections if section.anchor == anchor)


def tables_of(blocks):
    inside = [one for b in blocks for one in (b.blocks if isinstance(b, Folded) else (b,))]
    return [block for block in inside if isinstance(block, Table)]


def words_of(blocks):
    return " ".join(block.text for block in blocks if isinstance(block, Paragraph))


def number(cell):
    return float(cell.split(" ±")[0].split()[0])


def test_table_of_a_design_is_in_its_own_unit(lamps):
    label, result = lamps[0]
    section = section_of(compose([(label, result)], sample_paths), "answer")
    rows = dict(tables_of(section.blocks)[0].rows)
    through = sum(fate.photons for fate in result.fates if fate.group == "stop")
    share = 100.0 * through / result.photons
    assert number(rows["collected fraction"]) == pytest.approx(share, rel=0.02)
    assert rows["collected fraction"].endswith("%")


def test_designs_side_by_side_have_their_own_light(lamps):
    write_up = compose(lamps, sample_paths)
    ranking, full, _ = tables_of(section_of(write_up, "answer").blocks)
    place = ranking.heads.index("collected, lm")
    assert [row[1] for row in ranking.rows] == ["bright", "dim"]
    bright, dim = (number(row[place]) for row in ranking.rows)
    assert bright == pytest.approx(2.0 * dim, rel=0.01)
    # Of the same photons: half the light, beyond all luck.
    against = [row[ranking.heads.index("against no. 1")] for row in ranking.rows]
    assert against[0] == "reference" and number(against[1]) == pytest.approx(-50.0)
    moved = full.rows[1][full.heads.index("difference, lm")]
    assert number(moved) == pytest.approx(dim - bright, rel=0.02)
    assert full.rows[1][-1] == "real"
    (ledger,) = tables_of(section_of(write_up, "losses").blocks)
    assert [row[1] for row in ledger.rows] == ["bright", "dim"]


def test_the_brightest_design_is_shown_in_full(lamps):
    write_up = compose(lamps, sample_paths)
    titles = [section.title for section in write_up.sections]
    assert "The lamp: bright" in titles and "What to build: bright" in titles
    photons = sum(result.photons for _, result in lamps)
    assert write_up.subtitle == f"2 designs, {photons:,} photons traced"
    assert write_up.answer.startswith("Most light: 'bright'")
    assert re.search(r" (2|1\.99)\S*( ± \S+)? times as much as 'dim'", write_up.answer)
    (maps,) = (p for p in write_up.pictures() if p.name == "small_maps")
    assert "bright" in maps.alternative and "dim" in maps.alternative


HEIGHTS = Column("train.film.z_mm", "film, z", "mm", "parameter", np.array([8.0, 10.0, 12.0, 10.0]))
LIGHT = Column("collected_lm", "collected", "lm", "figure",
               np.array([0.9, 1.3, 1.1, 1.3]), np.full(4, 0.01))  # fmt: skip
EDGE = Column("darkest_edge", "darkest edge", "", "figure",
              np.array([0.5, 0.2, 0.4, 0.2]), np.full(4, 0.01))  # fmt: skip


def flags(name, *values):
    return Column(name, name, "", "fact", np.array(values))


def test_a_sweep_is_told_by_its_outcome():
    blocks = study(StudyTable("sweep", "t", "", (HEIGHTS, LIGHT)), "study-1")
    assert "Over 4 designs, collected goes from 0.9 to 1.3 lm." in words_of(blocks)
    (printed,) = tables_of(blocks)
    assert printed.rows == (("most collected", "1.300 ± 0.010 lm", "10"),)


def test_a_search_is_told_by_the_best_within_its_limits():
    facts = {"goal collected_lm": 1.0, "sense": 1.0, "limit darkest_edge": 0.3}
    columns = (HEIGHTS, LIGHT, EDGE, flags("within_limits", 1, 0, 1, 0))
    blocks = study(StudyTable("tune", "t", "", columns, facts), "study-1")
    assert "most collected. 2 of 4 designs tried are within the limits." in words_of(blocks)
    (printed,) = tables_of(blocks)
    assert [[number(cell) for cell in row] for row in printed.rows] == [
        [1.1, 0.4, 12.0],
        [0.9, 0.5, 8.0],
    ]


def test_a_front_is_told_without_what_was_tried_twice():
    facts = {"goal collected_lm": 1.0, "goal darkest_edge": 1.0}
    columns = (HEIGHTS, LIGHT, EDGE, flags("on_front", 1, 1, 1, 1))
    blocks = study(StudyTable("front", "t", "", columns, facts), "study-1")
    assert "most collected and most darkest edge. 4 of 4 designs" in words_of(blocks)
    (printed,) = tables_of(blocks)
    assert [number(row[2]) for row in printed.rows] == [10.0, 12.0, 8.0]


def test_a_search_without_a_design_within_limits_says_so():
    facts = {"goal collected_lm": 1.0, "sense": 1.0, "limit darkest_edge": 0.9}
    columns = (HEIGHTS, LIGHT, EDGE, flags("within_limits", 0, 0, 0, 0))
    blocks = study(StudyTable("tune", "t", "", columns, facts), "study-1")
    assert "0 of 4 designs tried are within the limits. Widen" in words_of(blocks)
    assert tables_of(blocks) == []


@pytest.mark.parametrize(("kind", "told"), [("front", "some, evenly spread"), ("tune", "the best")])
def test_a_table_that_leaves_designs_out_says_so(kind, told):
    count = 10
    light = replace(LIGHT, values=np.linspace(1.0, 2.0, count), errors=np.full(count, 0.01))
    edge = replace(EDGE, values=np.linspace(0.9, 0.1, count), errors=np.full(count, 0.01))
    heights = replace(HEIGHTS, values=np.arange(1.0, 1.0 + count))
    facts = {"goal collected_lm": 1.0, "sense": 1.0} | {
        f"{'goal' if kind == 'front' else 'limit'} darkest_edge": 1.0
    }
    flag = flags({"front": "on_front", "tune": "within_limits"}[kind], *[1] * count)
    blocks = study(StudyTable(kind, "t", "", (heights, light, edge, flag), facts), "study-1")
    assert f"The table shows {told}." in words_of(blocks)
    assert len(tables_of(blocks)[0].rows) == 8
