"""The commands as a person uses and misuses them: exit codes, plain words, files where asked."""

import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner

import photonsim
from photonsim.cli import main
from photonsim.engine import sample_paths
from photonsim.results import load_result
from tests.shipped import SCENES

BROKEN = sorted((Path(__file__).parent.parent / "scene" / "broken").glob("*.toml"))
D_SCENE = next(str(path) for path in SCENES if path.stem.startswith("d"))


def run(*arguments: object):
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def test_there_are_broken_scenes_enough():
    assert len(BROKEN) >= 20


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_check_tells_every_broken_scene_plainly(path):
    done = run("check", path)
    assert done.exit_code == 2
    assert "mistake" in done.output or path.name in done.output
    assert "Traceback" not in done.output


def test_broken_scenes_are_all_told_before_anything_is_traced():
    done = run("compare", BROKEN[0], D_SCENE, BROKEN[1])
    assert done.exit_code == 2
    assert BROKEN[0].name in done.output
    assert BROKEN[1].name in done.output


@pytest.mark.parametrize("command", ["check", "trace", "compare", "figures"])
def test_help_shows_an_example(command):
    done = run(command, "--help")
    assert done.exit_code == 0
    assert f"photonsim {command} " in done.output
    assert "Example" in done.output


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["trace", "none.toml"], "none.toml"),
        (["figures", "none.h5"], "no such file"),
        (["figures", D_SCENE], "not a photonsim result"),
        (["figures", "none.h5", "--only", "maps,glory"], "'glory' is none of maps, spread"),
        (["figures", "none.h5", "--format", "png,bmp"], "'bmp' is none of png, svg, pdf"),
        (["trace", D_SCENE, "--photons", "many"], "not a number of photons"),
        (["trace", D_SCENE, "--photons", "1.5"], "whole number"),
        (["trace", D_SCENE, "--relative-error", "2"], "relative-error"),
        (["trace", D_SCENE, "--photons", "10", "--figure", "glory"], "glory"),
        (["compare", str(Path(__file__).parent)], "no scene files"),
        (["glory"], "glory"),
        (["check", "a" * 300 + ".toml"], "too long"),
        (["figures", "a" * 300 + ".h5"], "too long"),
        (["trace", D_SCENE, "--photons", "10", "--out", "a" * 300], "too long"),
    ],
)
def test_mistakes_get_a_sentence_and_exit_code_2(tmp_path, monkeypatch, arguments, word):
    monkeypatch.chdir(tmp_path)
    done = run(*arguments)
    assert done.exit_code == 2
    assert word in done.output
    assert "Traceback" not in done.output


def test_check_tells_the_verdict_then_warnings_in_80_columns():
    done = run("check", D_SCENE)
    assert done.exit_code == 0
    places = [
        done.output.index(words)
        for words in (
            *("reads well", "Picture", "Brightness", "Edges", "1 warning", "Eyes, heat, sun"),
        )
    ]
    assert places == sorted(places)
    # The path is the user's own.
    assert all(len(line) <= 80 for line in done.output.splitlines() if D_SCENE not in line)


def test_check_without_tracing_compiles_nothing():
    code = (
        "import sys\n"
        "from photonsim.cli import main\n"
        f"try: main(['check', '--no-trace', {D_SCENE!r}])\n"
        "except SystemExit as end: assert not end.code\n"
        "sys.exit('numba' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "1 warning" in done.stdout
    assert "Picture" not in done.stdout


def test_check_prints_facts_and_draws_the_layout(tmp_path):
    done = run("check", D_SCENE, "--no-trace", "--verbose", "--out", tmp_path)
    assert done.exit_code == 0
    assert "film" in done.output
    assert "Mains" in done.output
    assert (tmp_path / "d_split_film-layout.png").exists()


def test_trace_saves_continues_and_starts_afresh(tmp_path):
    target = tmp_path / "d_split_film.h5"
    assert run("trace", D_SCENE, "--photons", "20_000", "--out", tmp_path).exit_code == 0
    # With a guide a count is rounded up to a multiple of 256.
    assert load_result(target).photons == 20_224
    assert run("trace", D_SCENE, "--photons", "5e4", "--out", tmp_path).exit_code == 0
    assert load_result(target).photons == 50_176
    less = run("trace", D_SCENE, "--photons", "12", "--out", tmp_path)
    assert less.exit_code == 0
    assert load_result(target).photons == 50_176, "a result must not shrink"
    assert "50,176 photons, stopped by photon count 50,176" in less.output
    assert "there already, and more than the 12 asked for: nothing was traced" in less.output
    again = run("trace", D_SCENE, "--photons", "1e4", "--out", tmp_path, "--fresh")
    assert again.exit_code == 0
    assert load_result(target).photons == 10_240


def test_trace_leaves_what_is_not_ours_alone(tmp_path):
    target = tmp_path / "d_split_film.h5"
    target.write_text("a shopping list")
    done = run("trace", D_SCENE, "--photons", "1000", "--out", tmp_path, "--fresh")
    assert done.exit_code == 2
    assert target.read_text() == "a shopping list"


def test_compare_takes_scenes_and_results_and_leaves_tables_and_pictures(tmp_path):
    run("trace", D_SCENE, "--photons", "20000", "--out", tmp_path / "lamp")
    done = run(
        *("compare", SCENES[0], tmp_path / "lamp" / "d_split_film.h5"),
        *("--photons", "20000", "--out", tmp_path / "both"),
    )
    assert done.exit_code == 0, done.output
    assert "Bars alone" in done.output
    names = {path.name for path in (tmp_path / "both").glob("[!.]*")}
    assert {"comparison.csv", "comparison.md", f"{SCENES[0].stem}.h5"} <= names
    assert {path.rsplit(".", 1)[1] for path in names} == {"csv", "md", "h5", "png"}


def test_what_a_result_lacks_is_told_by_every_command_that_shows_it(tmp_path):
    """Of a law that has been mended, and too few photons for print; each in one line."""
    scene = Path(__file__).parents[1] / "scene" / "all_kinds.toml"
    run("trace", scene, "--photons", "2000", "--out", tmp_path)
    target = tmp_path / "all_kinds.h5"
    assert "grooves" not in run("compare", target).output
    result = load_result(target)
    replace(result, run=replace(result.run, program_version="0.3.0")).save(target)
    drawn = run("figures", target, "--format", "svg", "--paths", "5", "--out", tmp_path)
    for done in (drawn, run("compare", target), run("preview", target, "--out", tmp_path)):
        assert done.exit_code == 0, done.output
        assert len([line for line in done.output.splitlines() if "grooves" in line]) == 1
    assert "photons (photonsim trace --fit-to-print)" in " ".join(drawn.output.split())
    assert "grooves" in (tmp_path / "all_kinds-maps.svg").read_text("utf-8")
    anew = run("trace", scene, "--photons", "3000", "--out", tmp_path)
    assert anew.exit_code == 0 and "the last one moves to" in anew.output
    assert load_result(target).run.program_version == photonsim.__version__
    assert load_result(tmp_path / "earlier" / "all_kinds-2.h5").run.program_version == "0.3.0"


def test_a_run_until_a_map_is_fit_to_print(tmp_path, monkeypatch):
    monkeypatch.setattr("photonsim.results.panel.blocks.PRINT_NOISE", 0.3)
    monkeypatch.setattr("photonsim.engine.stop_rule.DEFAULT_PHOTONS", 1 << 16)
    done = run("trace", D_SCENE, "--fit-to-print", "--out", tmp_path)
    assert done.exit_code == 0
    assert "stopped by map fit to print" in done.output
    assert 1 << 16 < load_result(tmp_path / "d_split_film.h5").photons < 1 << 19


def test_three_lines_of_python():
    code = (
        "import photonsim\n"
        f"result = photonsim.trace(photonsim.load_scene({D_SCENE!r}), photons=20_000)\n"
        "print(result.estimate('collected_fraction').text(100, '%'))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert "±" in done.stdout


def test_replay_walks_the_path_that_was_traced_with_the_compiler_off(tmp_path):
    run("trace", D_SCENE, "--photons", "1000", "--out", tmp_path)
    target = tmp_path / "d_split_film.h5"
    result = load_result(target)
    guide = result.tallies.guide
    for path in sample_paths(result.scene, 12, result.seed, first=100, guide=guide):
        command = [sys.executable, "-m", "photonsim", "replay", str(target), str(path.number)]
        told = subprocess.run(command, capture_output=True, text=True, check=True)
        assert told.stderr == ""
        met = len(path.points) - 1
        assert f"{path.fate}, after {met} surface{'s' if met > 1 else ''}\n" in told.stdout
        for point in path.points:
            assert "".join(f"{value:14.6f}" for value in point) in told.stdout
