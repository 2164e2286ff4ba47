"""Every command that reads a scene takes a file, a variant of one, values set, results, folders."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.cli.drawing import Drawing
from photonsim.cli.naming import Given
from photonsim.cli.study_options import study_folder
from photonsim.results import load_result
from photonsim.scene import SceneError, file_and_variant, load_scene
from photonsim.studies.points import record_of
from tests.shipped import scene

# Arguments after the scene; every command of the group that has the option --set is here.
REST = {
    "check": ["--no-trace"],
    "trace": ["--photons", "600", "--out", "OUT"],
    "compare": ["--photons", "600"],
    "report": ["--photons", "600", "--out", "OUT"],
    "cut": ["--out", "OUT"],
    "supply": [],
    "live": ["--no-browser", "--out", "OUT"],
    "fit": ["readings.csv", "--free", "housing.walls.reflectance", "0", "0.9", "--photons", "2000"],
    "sweep": ["--values", "housing.walls.reflectance", "0.2", "--relative-error", "0.5",
              "--out", "OUT"],
    "race": ["--photons", "1e4", "--out", "OUT"],
    "tune": ["--most", "collected", "--between", "housing.walls.reflectance", "0", "0.9",
             "--trials", "2", "--relative-error", "0.5", "--out", "OUT"],
    "tolerance": ["--within", "housing.walls.reflectance", "0.05", "--builds", "100",
                  "--relative-error", "0.9", "--photons", "500", "--out", "OUT"],
}  # fmt: skip
FORMS = {
    "file": ["lamp.toml"],
    "variant": ["lamp.toml:near"],
    "set": ["lamp.toml", "--set", "train.film.z_mm", "13"],
    "variant and set": ["lamp.toml:near", "--set", "emitters.bars.flux_lm", "21"],
    "result": ["traced/lamp.h5"],
    "variant of a result": ["traced/lamp.h5:near"],
    "result and set": ["traced/lamp.h5", "--set", "train.film.z_mm", "13"],
    "folder": ["."],
    "folder of results": ["traced"],
}
# Where the film stands in each form, told by what a command made of the scene.
VARIANT = "\n[variants.near]\ntrain.film.z_mm = 12\nhousing.walls.specular_share = 0.5\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder with one lamp, its result in another, and readings."""
    found: Path = tmp_path_factory.mktemp("named")
    (found / "lamp.toml").write_text(scene("d").text + VARIANT, "utf-8")
    (found / "readings.csv").write_text(
        "place,x_mm,y_mm,lux,uncertainty_lux\npanel,0,0,60100,1800\npanel,40,0,50700,1500\n"
    )
    asked = ["trace", str(found / "lamp.toml"), "--photons", "600", "--out", str(found / "traced")]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 0, done.output
    return found


def test_every_command_that_reads_a_scene_is_tried():
    takes = {
        name
        for name, command in main.commands.items()
        if any(option.name == "sets" for option in command.params)
    }
    # The live page goes on until Ctrl-C: tests/live.
    assert takes == {*REST, "live"}
    for name, command in main.commands.items():
        takes_scene = any("SCENE" in (option.metavar or "") for option in command.params)
        assert takes_scene == (name in takes), name


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("command", REST)
def test_scenes_are_taken_in_every_form(folder, tmp_path, monkeypatch, command, form):
    monkeypatch.chdir(folder)
    if command == "report":  # the page is drawn for a dozen seconds, and no matter here
        monkeypatch.setattr("photonsim.report.compose", lambda *found: found)
        monkeypatch.setattr("photonsim.report.save_write_up", lambda *_: [])
    if command == "live":  # it would serve until somebody ends it
        monkeypatch.setattr("photonsim.live.server.PageServer.serve_forever", lambda *_: None)
    if command in ("sweep", "tune", "tolerance"):
        monkeypatch.setattr("photonsim.figures.study.draw.draw_study", lambda *_: [])
    if command == "tolerance":  # a hundred builds at least, all of them like the traced lamp here
        record = record_of(load_result("traced/lamp.h5"))
        monkeypatch.setattr(
            "photonsim.studies.points.measure",
            lambda _, point, **__: record | {"point": point, "seconds": 0.1},
        )
    rest = [str(tmp_path) if item == "OUT" else item for item in REST[command]]
    done = CliRunner().invoke(main, [command, *FORMS[form], *rest])
    assert done.exit_code == 0, done.output
    if command != "trace":
        return
    name = "lamp.near.h5" if "variant" in form else "lamp.h5"
    traced = load_result(tmp_path / name)
    near = 12.0 if "variant" in form else 13.0 if "set" in form else 14.0
    assert traced.scene.train["film"].z_mm == near
    title = "Bars and film in strips"
    title += ", near" if "variant" in form else ""
    title += ", bars.flux_lm 21" if "variant and" in form else ", film.z_mm 13" * ("set" in form)
    assert traced.scene.title == title


@pytest.mark.parametrize("command", ["figures", "preview"])
def test_folders_of_results_are_taken_and_tables_of_studies_left_out(
    folder, tmp_path, monkeypatch, command
):
    monkeypatch.chdir(folder)
    shown = tmp_path / "shown"
    shown.mkdir()
    (shown / "lamp.h5").write_bytes(Path("traced/lamp.h5").read_bytes())
    sweep = ["sweep", "lamp.toml", "--out", str(shown), *REST["sweep"][:-2]]
    assert CliRunner().invoke(main, sweep).exit_code == 0
    assert (shown / "sweep.h5").exists()
    asked = [command, str(shown), "--out", str(tmp_path)]
    done = CliRunner().invoke(main, asked + ["--format", "svg"] * (command == "figures"))
    assert done.exit_code == 0, done.output
    drawn = {path.name for path in tmp_path.glob("*.*g")}
    assert any(name.startswith("lamp-") for name in drawn)
    assert not any(name.startswith("sweep") for name in drawn)


@pytest.mark.parametrize(
    ("names", "folder_of_study"),
    [
        (["lamp.toml"], "lamp-race"),
        (["lamps/lamp.toml:near"], "lamp.near-race"),
        (["lamps"], "lamps-race"),
        (["."], "bench-race"),
        (["traced/lamp.h5"], "lamp-race"),
        (["lamp.toml", "lamps"], "race"),
    ],
)
def test_a_study_without_a_folder_has_one_named_after_its_scene(
    tmp_path, monkeypatch, names, folder_of_study
):
    (tmp_path / "bench" / "lamps").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "bench")
    assert study_folder(None, Given(tuple(names)), "race") == Path(folder_of_study)
    assert study_folder(Path("mine"), Given(tuple(names)), "race") == Path("mine")


@pytest.mark.parametrize("command", ["sweep", "race", "tune"])
def test_a_study_tells_the_folder_that_it_chose(folder, tmp_path, monkeypatch, command):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("photonsim.figures.study.draw.draw_study", lambda *_: [])
    done = CliRunner().invoke(main, [command, str(folder / "lamp.toml"), *REST[command][:-2]])
    assert done.exit_code == 0, done.output
    assert f"lamp-{command}" in done.stderr
    assert [path.name for path in tmp_path.iterdir()] == [f"lamp-{command}"]


def test_compare_puts_a_lamp_and_its_variants_side_by_side(folder, tmp_path, monkeypatch):
    monkeypatch.chdir(folder)
    monkeypatch.setattr(Drawing, "add", lambda *_: None)
    done = CliRunner().invoke(
        main, ["compare", "lamp.toml", "--photons", "5000", "--out", str(tmp_path)]
    )
    assert done.exit_code == 0, done.output
    assert {path.name for path in tmp_path.glob("*.h5")} == {"lamp.h5", "lamp.near.h5"}
    table = (tmp_path / "comparison.csv").read_text("utf-8")
    assert ",near," in table and ",as it stands," in table
    assert done.output.startswith("Bars and film in strips:\n")
    assert "Most light: 'near'" in done.output or "Most light: 'as it stands'" in done.output


def test_check_tells_the_mistakes_of_all_variants(folder, tmp_path):
    wrong = (
        "\n[variants.far]\ntrain.film.zz_mm = 3\ntrain.film.strips.pitsch_mm = 2\n"
        "[variants.sunken]\nhousing.depth_mm = -4\n"
    )
    lamp = tmp_path / "lamp.toml"
    lamp.write_text((folder / "lamp.toml").read_text("utf-8") + wrong, "utf-8")
    done = CliRunner().invoke(main, ["check", str(lamp), "--no-trace"])
    assert done.exit_code == 2
    for words in (
        "lamp.toml:far: 2 mistakes",
        "train.film.zz_mm: the scene has no such key; did you mean train.film.z_mm?",
        "train.film.strips.pitsch_mm",
        "lamp.toml:sunken: ",
        "housing.depth_mm = -4",
    ):
        assert words in done.output
    # What is wrong with a variant stops nobody who does not want it.
    traced = CliRunner().invoke(main, ["check", f"{lamp}:near", "--no-trace"])
    assert traced.exit_code == 0, traced.output
    asked = ["trace", str(lamp), "--photons", "300", "--out", str(tmp_path)]
    assert CliRunner().invoke(main, asked).exit_code == 0


def test_what_was_set_is_written_with_the_comments_and_no_file_is_lost(folder, tmp_path):
    target = tmp_path / "best.toml"
    target.write_text("# mine\n", "utf-8")
    asked = [
        *("check", str(folder / "lamp.toml"), "--no-trace"),
        *("--set", "train.film.z_mm", "16.5", "--set", "train.film.ridges", "to_lamp"),
        *("--set", "screen.watched_from", '"rear"', "--write", str(target)),
    ]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 0, done.output
    before, after = (
        path.read_text("utf-8").splitlines() for path in (folder / "lamp.toml", target)
    )
    added = [line for line in after if line not in before]
    assert added == [
        'title = "Bars and film in strips, best"',
        "z_mm = 16.5",
        'ridges = "to_lamp"',
        'watched_from = "rear"',
    ]
    assert [line for line in before if line not in after] == [
        'title = "Bars and film in strips"',
        "z_mm = 14.0",
        'ridges = "to_screen"',
    ]
    assert load_scene(target).variants == load_scene(folder / "lamp.toml").variants
    assert (tmp_path / "earlier" / "best-1.toml").read_text("utf-8") == "# mine\n"


@pytest.mark.parametrize(
    ("name", "file", "variant"),
    [
        ("lamp.toml", "lamp.toml", ""),
        ("lamp.toml:wide", "lamp.toml", "wide"),
        (r"C:\lamps\lamp.toml", r"C:\lamps\lamp.toml", ""),
        (r"C:\lamps\lamp.toml:wide", r"C:\lamps\lamp.toml", "wide"),
        ("C:lamp", "C:lamp", ""),
        ("C:lamp.toml:wide", "C:lamp.toml", "wide"),
        ("a:b/lamp.toml", "a:b/lamp.toml", ""),
        ("lamp.toml:", "lamp.toml:", ""),
    ],
)
def test_a_variant_is_told_from_a_drive_of_windows(name, file, variant):
    assert file_and_variant(name) == (Path(file), variant)


def test_a_variant_is_read_in_python_by_the_same_name(folder):
    near = load_scene(f"{folder / 'lamp.toml'}:near")
    assert near == load_scene(folder / "lamp.toml").variant("near")
    with pytest.raises(SceneError, match=r"lamp\.toml:nar: 1 mistake\n.*did you mean near"):
        load_scene(f"{folder / 'lamp.toml'}:nar")


def test_a_file_with_a_colon_in_its_name_is_still_found(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    try:
        Path("odd:name").write_text("x")
    except OSError:
        return  # Windows has no such names
    if Path("odd:name").exists():
        assert file_and_variant("odd:name") == (Path("odd:name"), "")
