"""cut, fit and report from the command line: what they leave, and plain words where they can't."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from tests.shipped import APART

SCENE = Path(__file__).parent.parent / "small_lamps" / "split_film.toml"
HEADS = "place,x_mm,y_mm,lux,uncertainty_lux\n"


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def test_cut_leaves_pages_and_parts_list(tmp_path):
    result = run("cut", SCENE, "--out", tmp_path, "--paper", "letter", "--kerf", 0.2)
    assert result.exit_code == 0, result.output
    assert "film strip" in result.output and "finished areas" in result.output
    names = {path.name for path in tmp_path.iterdir()}
    assert {"split_film-cutting.pdf", "split_film-cutting-whole.svg",
            "split_film-cutting-1.svg", "split_film-parts.csv"} <= names  # fmt: skip


def test_the_cutting_sheet_of_a_light_plate_warns_of_its_lit_edge(tmp_path):
    plate = next(path for path in APART if path.stem == "plate")
    assert run("cut", plate, "--out", tmp_path).exit_code == 0
    page = (tmp_path / "plate-cutting-1.svg").read_text(encoding="utf-8")
    assert "acrylic softens from about 80 °C" in page


def test_fit_writes_a_scene_with_its_comments_kept(tmp_path):
    readings = tmp_path / "readings.csv"
    places = [(x, y) for x in (-40, 0, 40) for y in (-20, 0, 20)]
    readings.write_text(HEADS + "".join(f"panel,{x},{y},60000,6000\n" for x, y in places))
    result = run("fit", SCENE, readings, "--photons", "2e4", "--out", tmp_path,
                 "--free", "emitters.bars.flux_lm", 5, 80)  # fmt: skip
    assert result.exit_code == 0, result.output
    assert "95 % limits" in result.output
    fitted = (tmp_path / "split_film-fitted.toml").read_text(encoding="utf-8")
    original = SCENE.read_text(encoding="utf-8")
    changed = [
        (old, new)
        for old, new in zip(original.splitlines(), fitted.splitlines(), strict=True)
        if old != new
    ]
    assert [old.split(" =")[0] for old, _ in changed] == ["flux_lm"]
    assert (tmp_path / "split_film-residuals.png").stat().st_size > 10_000


@pytest.mark.parametrize(
    ("text", "free", "told"),
    [
        (HEADS + "panel,0,0,5,1\n", "emitters.bars.flux", "did you mean"),
        (HEADS + "panel,0,0,5\n", "emitters.bars.flux_lm", "line 2, uncertainty_lux: missing"),
        ("a,b\n1,2\n", "emitters.bars.flux_lm", "unknown column"),
        ("", "emitters.bars.flux_lm", "no readings"),
    ],
)
def test_fit_tells_what_to_mend(tmp_path, text, free, told):
    readings = tmp_path / "readings.csv"
    readings.write_text(text)
    result = run("fit", SCENE, readings, "--free", free, 5, 80)
    assert result.exit_code == 2
    assert told in result.output


def test_report_tells_what_is_missing(tmp_path):
    result = run("report", tmp_path / "nowhere.h5", "--out", tmp_path)
    assert result.exit_code == 2
    assert "no such file" in result.output
