"""The table of stacks is of the lamps beside it, and its figures are what a short run finds."""

import math

import pytest

import photonsim
from tests.chance import assert_fits
from tests.documents.backlight import FOLDER, HEADINGS, PAGE, STACKS, block

PHOTONS = 1 << 17


@pytest.fixture(scope="module")
def traced():
    """Short runs of all lamps of the folder and their variants, by the stems of their files."""
    lamps = {}
    for path in sorted(FOLDER.glob("*.toml")):
        lamps[path.stem] = lamp = photonsim.load_scene(path)
        lamps |= {f"{path.stem}.{name}": lamp.variant(name) for name in lamp.variants}
    return {stem: photonsim.trace(lamp, photons=PHOTONS, seed=7) for stem, lamp in lamps.items()}


def rows_of(text):
    return [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in text.splitlines()
        if "±" in line and line.startswith("|")
    ]


def printed():
    """The rows of the page's table, cell by cell."""
    return rows_of(PAGE.read_text(encoding="utf-8"))


def test_the_table_is_of_the_lamps_of_its_folder(traced):
    assert set(traced) == set(STACKS)
    assert [row[0] for row in printed()] == [traced[stem].name for stem in STACKS]
    assert f"| {' | '.join(HEADINGS)} |" in PAGE.read_text(encoding="utf-8")
    made = rows_of(block(traced, "9.9"))
    assert [[bool(cell) for cell in row] for row in made] == [
        [bool(cell) for cell in row] for row in printed()
    ]


@pytest.mark.parametrize(("column", "scale"), [(1, 100.0), (6, 1.0)])
def test_its_figures_are_those_of_a_short_run(traced, column, scale):
    name = {1: "collected_fraction", 6: "polarisation_gain"}[column]
    rows = []
    for stem, row in zip(STACKS, printed(), strict=True):
        value, _, error = row[column].partition(" ± ")
        found = traced[stem].estimate(name)
        if found.error > 0.0:
            rows.append((scale * found.value, float(value), scale * found.error, float(error or 0)))
    found, told, errors, others = zip(*rows, strict=True)
    both = [math.hypot(*pair) for pair in zip(errors, others, strict=True)]
    assert_fits(found, told, both, what=name)
