"""What every command prints by default fits the 80 columns that every terminal has (ECMA-48's and
the VT100's line: common practice), with no code that steers a terminal."""

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.results import FIGURES
from photonsim.scene import load_scene
from tests.shipped import SCENES

COLUMNS = 80
FEW = ("--photons", "20000")
STUDY = ("--photons", "16384", "--relative-error", "0.5", "--out", "out")
MOVE = ("train.film.z_mm", "6", "20")
READINGS = "place,x_mm,y_mm,lux,uncertainty_lux\n" + "".join(
    f"panel,{x},{y},60000,6000\n" for x in (-40, 0, 40) for y in (-20, 0, 20)
)
COMMANDS = [
    ("check", "d_split_film.toml", "--out", "out"),
    ("check", "."),
    ("check", "d_split_film.toml", "--no-trace", "--verbose"),
    ("trace", ".", *FEW),
    ("trace", "h_anastigmat.toml", *FEW, "--verbose"),
    ("trace", "d_split_film.toml", "--relative-error", "0.5", "--figure", "darkest edge"),
    ("compare", ".", *FEW),
    ("compare", ".", *FEW, "--verbose"),
    ("compare", "a_bars.toml", "d_split_film.toml", *FEW, "--against", "best"),
    ("compare", "d_split_film.h5", "--out", "out"),
    ("supply", "d_split_film.toml", "--out", "out", "--write", "out/fed.toml"),
    ("cut", "d_split_film.toml", "--out", "out"),
    ("fit", "d_split_film.toml", "readings.csv", *FEW, "--out", "out",
     "--free", "emitters.bars.flux_lm", "5", "80",
     "--free", "housing.walls.reflectance", "0", "0.5"),
    ("lens", "--diameter", "60", "--centre", "9", "--edge", "4.3", "--focal", "187"),
    ("figures", "d_split_film.h5", "--format", "svg", "--paths", "5", "--out", "out"),
    ("preview", "d_split_film.h5", "--out", "out"),
    ("report", "d_split_film.h5", "--out", "out"),
    ("replay", "d_split_film.h5", "1234"),
    ("sweep", "d_split_film.toml", *STUDY, "--range", *MOVE, "3",
     "--values", "train.film.strips.gap_mm", "3,6", "--values", "housing.walls.taper_deg", "0,1,2"),
    ("race", ".", "--photons", "65536", "--out", "out"),
    ("tune", "d_split_film.toml", *STUDY, "--trials", "3", "--most", "collected_lm",
     "--between", *MOVE),
    ("tune", "d_split_film.toml", *STUDY, "--trials", "3", "--most", "collected", "--least",
     "structure", "--between", *MOVE),
    ("tolerance", "d_split_film.toml", *STUDY, "--within", "train.film.z_mm", "1",
     "--within", "train.film.strips.gap_mm", "0.5", "--builds", "100", "--show", "collected_lm"),
]  # fmt: skip


def run(*arguments):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    """A folder with all shipped scenes, a result and readings."""
    folder = tmp_path_factory.mktemp("bench")
    for path in SCENES:
        (folder / path.name).write_text(path.read_text("utf-8"), "utf-8")
    (folder / "readings.csv").write_text(READINGS)
    for path in SCENES[0].parent.glob("measured/*"):
        (folder / "measured").mkdir(exist_ok=True)
        (folder / "measured" / path.name).write_bytes(path.read_bytes())
    done = run("trace", folder / "d_split_film.toml", *FEW, "--out", folder)
    assert done.exit_code == 0, done.output
    return folder


@pytest.mark.parametrize("asked", COMMANDS, ids=" ".join)
def test_no_line_is_wider_than_a_terminal(bench, monkeypatch, asked, tmp_path):
    monkeypatch.chdir(bench)
    monkeypatch.delenv("COLUMNS", raising=False)
    out = [word.replace("out", str(tmp_path)) if word[:3] == "out" else word for word in asked]
    if asked[0] == "trace":
        out += ["--out", str(tmp_path)]
    done = run(*out)
    assert done.exit_code in (0, 1), done.output
    assert "Traceback" not in done.output
    told = done.output.replace(str(tmp_path), "out")
    assert "\x1b" not in told
    assert told.strip()
    assert [line for line in told.splitlines() if len(line) > COLUMNS] == []


@pytest.mark.parametrize("name", sorted(main.commands))
def test_help_fits_a_terminal(name):
    done = run(name, "--help")
    assert done.exit_code == 0
    assert [line for line in done.output.splitlines() if len(line) > COLUMNS] == []


@pytest.mark.parametrize(
    "name", ["trace", "compare", "report", "sweep", "race", "tune", "tolerance"]
)
def test_help_lists_what_figures_are_called(name):
    told = run(name, "--help").output
    for figure in FIGURES.values():
        assert figure.name in told
        assert figure.heading in told


def test_a_wide_terminal_shows_more(bench, monkeypatch):
    monkeypatch.chdir(bench)
    monkeypatch.setenv("COLUMNS", "150")
    wide = run("compare", "a_bars.toml", "d_split_film.toml", *FEW).output.splitlines()
    assert COLUMNS < max(map(len, wide)) <= 150
    monkeypatch.setenv("COLUMNS", "20")
    narrow = run("compare", "a_bars.toml", "d_split_film.toml", *FEW).output.splitlines()
    assert max(map(len, narrow)) <= COLUMNS


def test_titles_of_the_shipped_lamps_stay_whole_in_a_comparison(bench, monkeypatch):
    monkeypatch.chdir(bench)
    monkeypatch.delenv("COLUMNS", raising=False)
    done = run("compare", ".", *FEW)
    table, *_, answer = done.output.split("\n\n")
    for path in SCENES:
        title = load_scene(path).title
        assert any(f"  {title}  " in line for line in table.splitlines())
    assert answer.startswith("Most light: ")
