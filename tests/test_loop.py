"""The loop of an evening as a new user goes it, in the terminal and in Python: the same numbers.

Nothing here asks for --fresh, for a file renamed or for a look into the sources: every command is
one that the README, a `--help` or the answer before it names.
"""

import csv
import shlex
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

import photonsim
from photonsim.cli import main

SHIPPED = Path(__file__).parents[1] / "scenes" / "d_split_film.toml"
COUNT = 1 << 16
PHOTONS = ["--photons", str(COUNT)]
# The first is no matter to photons; the others bring the lamp back to what it was, and on.
CHANGES = {
    "screen.room_lux": 0.3,
    "train.film.z_mm": 16,
    "train.film.strips.gap_mm": 8,
    "emitters.bars.flux_lm": 25,
    "housing.walls.reflectance": 0.85,
    "train.film": False,
}
VARIANTS = """
[variants.wide]
train.film.z_mm = 16
train.film.strips.gap_mm = 8

[variants.bright]
emitters.bars.flux_lm = 30

[variants.bare]
train.film = false
"""
HEIGHTS = (10.0, 20.0, 30.0)


def run(*arguments):
    """Run a command that must do what it is asked to, and return what it says."""
    done = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert done.exit_code == 0, done.output
    assert max(map(len, done.output.splitlines())) <= 80
    return done.output


def command_in(words):
    """Return the arguments of the last command that an answer names, for copying."""
    *_, last = words.replace("\\\n", " ").split("photonsim ")
    return shlex.split(last.splitlines()[0])


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """An empty folder with a copy of a shipped lamp."""
    found: Path = tmp_path_factory.mktemp("evening")
    shutil.copy(SHIPPED, found / "lamp.toml")
    return found


@pytest.fixture(scope="module", autouse=True)
def work_there(folder):
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        yield


@pytest.fixture(scope="module")
def varied(folder):
    """The lamp with three variants in its file."""
    with (folder / "lamp.toml").open("a", encoding="utf-8") as file:
        file.write(VARIANTS)
    return "lamp.toml"


def test_six_changes_by_set():
    scene = photonsim.load_scene("lamp.toml")
    run("check", "lamp.toml")
    run("trace", "lamp.toml", *PHOTONS, "--out", "lamp")
    for path, value in CHANGES.items():
        text = "false" if value is False else value
        told = run("trace", "lamp.toml", *PHOTONS, "--set", path, text, "--out", "lamp")
        changed = scene.with_numbers({path: value})
        result = photonsim.trace(changed, photons=COUNT)
        for name in ("collected", "uniformity", "RMS blur"):
            figure = photonsim.FIGURES[
                {"collected": "collected_lm", "RMS blur": "blur"}.get(name, name)
            ]
            printed = result.estimate(name).text(figure.scale, figure.unit)
            assert any(
                line.startswith(f"  {name} ") and line.endswith(f" {printed}")
                for line in told.splitlines()
            ), (path, name)
        told = " ".join(told.split())
        assert ("no photon sees that" in told) == (path == "screen.room_lux")
        assert ("traced anew" in told) == (path != "screen.room_lux")
        assert photonsim.load_result("lamp/lamp.h5").scene.is_same_lamp(changed)
    # What was there before is not lost.
    assert len(list(Path("lamp/earlier").glob("lamp-*.h5"))) == len(CHANGES) - 1


def test_three_variants_side_by_side(varied):
    told = run("compare", varied, *PHOTONS, "--out", "both")
    comparison = photonsim.compare(varied, photons=COUNT)
    assert photonsim.answer(comparison) in told
    assert len(comparison.designs) == 4
    with open("both/comparison.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    for row, design in zip(rows, comparison.designs, strict=True):
        assert row["design"] == design.label
        assert float(row["collected_lm [lm]"]) == design.result.estimate("collected").value
    # Folders of results are as good as the scene, and a variant stands wherever a lamp does.
    assert [row.label for row in photonsim.compare("both").designs] == [
        row["design"] for row in rows
    ]
    run("compare", "both")
    run("trace", f"{varied}:wide", *PHOTONS, "--out", "lamp")
    assert photonsim.load_result("lamp/lamp.wide.h5").estimate("collected") == photonsim.trace(
        f"{varied}:wide", photons=COUNT
    ).estimate("collected")


def test_the_best_of_a_sweep_becomes_a_file_and_a_report(varied):
    listed = ",".join(f"{height:g}" for height in HEIGHTS)
    told = run("sweep", varied, "--values", "train.film.z_mm", listed, *PHOTONS, "--out", "height")
    table = photonsim.sweep(varied, {"train.film.z_mm": HEIGHTS}, photons=COUNT)
    assert Path("height/sweep.csv").read_text("utf-8") == table.as_csv()
    assert photonsim.answer(table) in told

    named = command_in(told)
    assert named[:2] == ["check", varied] and named[-2:] == ["--write", "best.toml"]
    run(*named)
    scene = photonsim.load_scene(varied)
    best = photonsim.save_scene(scene.with_numbers(table.best()), "in_python.toml")
    assert photonsim.load_scene("best.toml").is_same_lamp(photonsim.load_scene(best))
    assert photonsim.load_scene("best.toml").train["film"].z_mm == 10.0

    run("trace", "best.toml", *PHOTONS, "--out", "written")
    run("report", "best.toml", *PHOTONS, "--out", "written")
    photonsim.write_report("best.toml", "in-python", photons=COUNT)
    assert Path("written/report.md").read_text("utf-8") == Path("in-python/report.md").read_text(
        "utf-8"
    )


@pytest.mark.parametrize(
    ("asked", "goes_on"),
    [
        (["race", "lamp.toml", "--photons", "1e6", "--out", "raced"], "lamp.toml:bright"),
        (["compare", "lamp.toml", *PHOTONS], "lamp.toml:bright"),
        (["compare", "both"], str(Path("both/lamp.bright.h5"))),
        (["check", "lamp.toml", "--set", "train.rear_lens.z_mm", "200", "--set",
          "train.stop.z_mm", "222", "--set", "train.front_lens.z_mm", "238"], "lamp.toml"),
        (["tune", "lamp.toml", *PHOTONS, "--most", "collected", "--least", "structure",
          "--between", "train.film.z_mm", "8", "24", "--trials", "3", "--out", "front"],
         "lamp.toml"),
    ],
    ids=lambda asked: asked[0] if isinstance(asked, list) else "",
)  # fmt: skip
def test_every_answer_names_a_command_that_runs(asked, goes_on, varied):
    command, source, *rest = command_in(run(*asked))
    assert (command, source) == ("check", goes_on)
    assert rest[-2] == "--write"
    run(command, source, *rest)
    assert Path(rest[-1]).is_file()
    if asked[0] == "check":  # it was out of focus by many pixels, and is no longer
        assert "in focus:" in run("check", rest[-1])
