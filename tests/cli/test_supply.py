"""The command `supply`: text, figure, and a scene that is traced with the plan's lumens."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.scene import load_scene
from photonsim.supply.plan import supply_plan
from tests.shipped import SCENES

SCENES_FOLDER = SCENES[0].parent
SPLIT_FILM = SCENES_FOLDER / "d_split_film.toml"
SUPPLY = SPLIT_FILM.read_text("utf-8").partition("\n[supply]")[2]


def run(*arguments: object):
    return CliRunner().invoke(main, ["supply", *(str(argument) for argument in arguments)])


def test_help_shows_an_example():
    done = run("--help")
    assert done.exit_code == 0
    assert "photonsim supply scenes/d_split_film.toml" in done.output


def test_plan_figure_and_scene(tmp_path: Path):
    fed = tmp_path / "fed.toml"
    done = run(SPLIT_FILM, "--out", tmp_path, "--write", fed)
    assert done.exit_code == 0, done.output
    assert "Dropper" in done.output
    assert "Cautions" in done.output
    assert (tmp_path / "d_split_film-supply.png").stat().st_size > 10_000
    before, after = load_scene(SPLIT_FILM), load_scene(fed)
    flux = supply_plan(before).point.led_lm
    assert after.emitters["bars"].flux_lm == pytest.approx(flux, abs=1e-3)
    changed = [
        (old, new)
        for old, new in zip(before.text.splitlines(), after.text.splitlines(), strict=True)
        if old != new
    ]
    assert [old for old, _ in changed] == ["flux_lm = 20.0"], "comments and all else are kept"


def test_a_file_that_the_scene_takes_the_place_of_is_kept(tmp_path: Path):
    other = tmp_path / "other.toml"
    other.write_text("# mine\n", "utf-8")
    done = run(SPLIT_FILM, "--write", other)
    assert done.exit_code == 0
    assert "is kept as" in " ".join(done.output.split())
    assert (tmp_path / "earlier" / "other-1.toml").read_text("utf-8") == "# mine\n"


def test_scene_may_be_written_over_itself(tmp_path: Path):
    scene = tmp_path / "lamp.toml"
    scene.write_text(SPLIT_FILM.read_text("utf-8"), "utf-8")
    assert run(scene, "--write", scene).exit_code == 0
    assert load_scene(scene).emitters["bars"].flux_lm < 20.0


@pytest.mark.parametrize("elsewhere", [False, True])
def test_measured_lamp_keeps_its_table(tmp_path: Path, elsewhere: bool):
    """Beside the scene its LM-63 file is named as before; elsewhere its text goes along."""
    measured = SCENES_FOLDER / "measured"
    folder = tmp_path / "lamp"
    folder.mkdir()
    supply = SUPPLY.replace("series = 3", "series = 1").replace("strings = 15", "strings = 1")
    text = (measured / "oval_lamp.toml").read_text("utf-8") + "\n[supply]" + supply
    (folder / "lamp.toml").write_text(text, "utf-8")
    (folder / "oval_lens.ies").write_bytes((measured / "oval_lens.ies").read_bytes())
    target = (tmp_path if elsewhere else folder) / "fed.toml"
    done = run(folder / "lamp.toml", "--write", target)
    assert done.exit_code == 0, done.output
    assert ("lm63_file" in target.read_text("utf-8")) is not elsewhere
    assert load_scene(target).emitters["lamp"].intensity is not None


def test_scene_without_supply_is_told_plainly():
    done = run(SCENES_FOLDER / "a_bars.toml")
    assert done.exit_code == 2
    assert "supply: missing; describe how the emitters are fed" in done.output
    assert "Traceback" not in done.output


def test_missing_file_is_told_plainly():
    done = run("none.toml")
    assert done.exit_code == 2
    assert "none.toml" in done.output
