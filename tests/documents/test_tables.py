"""What a command writes into the documents is what it would write now."""

import csv
import io

import pytest

import photonsim
from photonsim.results import Estimate
from tests.blocks import written_into
from tests.documents.comparison import COLUMNS, README, block
from tests.keys import BLOCKS, COMMAND
from tests.lamp_picture import PICTURE, SCENE, drawn, straightened_deg, ways
from tests.shipped import SCENES


@pytest.mark.parametrize(("page", "name", "made"), BLOCKS, ids=[name for _, name, _ in BLOCKS])
def test_tables_are_those_of_the_models(page, name, made):
    text = page.read_text(encoding="utf-8")
    assert text == written_into(text, name, COMMAND, made()), f"run `{COMMAND}`"


def test_the_comparison_is_of_the_shipped_lamps_and_says_of_which_version():
    text = README.read_text(encoding="utf-8").partition("<!-- comparison:")[2]
    text = text.partition("<!-- end of comparison -->")[0]
    rows = [line for line in text.splitlines() if "±" in line]
    titles = {photonsim.load_scene(path).title for path in SCENES}
    assert {row.split("|")[1].strip() for row in rows} == titles
    assert "Version 0." in text and "photons a lamp" in text


def test_the_table_of_a_comparison():
    names = [n + end + unit for n, (_, unit) in COLUMNS.items() for end in ("", " error")]
    head = ["design", "photons", "verdict", *names]
    rows = [
        ["one", "8192", "real", *["2.0", "0.1"] * 4],
        ["two", "8192", "reference", *["1.0", "0.1"] * 4],
    ]
    file = io.StringIO("\n".join(",".join(row) for row in [head, *rows]))
    made = block(list(csv.DictReader(file)), "9.9").splitlines()
    assert made[2].startswith(f"| one | × 2.00 | {Estimate(2.0, 0.1).text()} |")
    assert made[3].startswith("| two | × 1.00 |")
    assert made[-1] == "Version 9.9, 8,192 photons a lamp. Light is against two."


def test_the_picture_is_that_of_the_scene():
    text = PICTURE.read_text(encoding="utf-8")
    assert text == drawn(photonsim.load_scene(SCENE)), "run `python -m tests.lamp_picture`"


def test_the_light_in_the_picture_goes_as_it_should():
    scene = photonsim.load_scene(SCENE)
    film = scene.train["film"]
    # check-values, section 2: light at 30.3° leaves a 90° film of n = 1.586 straight ahead.
    assert straightened_deg(film) == pytest.approx(30.3, abs=0.05)
    covered = film.strips.intervals_mm(-35.0, 35.0)
    for way in ways(scene):
        (_, start), (z, y) = way[:2]
        assert z == film.z_mm
        # Light that keeps its height passes a gap, light that was bent meets film.
        assert any(low < y < high for low, high in covered) == (y != start)
        # The field lens sends what comes straight on to its focus, where the stop is.
        assert way[-1][0] - way[-2][0] == pytest.approx(scene.train["field_lens"].focal_mm)
