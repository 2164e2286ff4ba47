"""The public door: what Python users see, in how many lines, and what mistakes tell them."""

import ast
import importlib
import pydoc
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import photonsim
from photonsim.cli import main

SCENES = Path(__file__).parents[1] / "scenes"
FILM = SCENES / "d_split_film.toml"
FEW = 1 << 15


@pytest.fixture(scope="module")
def result():
    return photonsim.trace(FILM, photons=1e5)


@pytest.fixture(scope="module")
def told(result):
    """One of each thing that a person looks at, by name."""
    scene = photonsim.load_scene(FILM)
    heights = {"train.film.z_mm": [float(z) for z in range(8, 24)]}
    readings = [photonsim.Reading("panel", 13_000.0, 400.0, x_mm=x) for x in (-30.0, 0.0, 30.0)]
    lamps = [scene, SCENES / "a_bars.toml", str(SCENES / "b_diffuser.toml"), result]
    return {
        "scene": scene,
        "part": scene.train["film"],
        "result": result,
        "estimate": result.estimate("uniformity"),
        "map": result.map(),
        "comparison": photonsim.compare(lamps, photons=FEW),
        "sweep": photonsim.sweep(scene, heights, photons=FEW),
        "race": photonsim.race(lamps, photons=FEW),
        "tuning": photonsim.tune(
            scene, {"train.film.z_mm": (8, 24)}, most="collected", trials=3, photons=FEW
        ),
        "fit": photonsim.fit(
            scene, readings, {"housing.walls.reflectance": (0.0, 0.9)}, photons=FEW
        ),
        "supply": photonsim.supply_plan(scene),
        "cutting": photonsim.cutting_plan(scene),
        "lens": photonsim.kitchen_lens(60, 9, 4.3, 187),
    }


def test_all_that_is_named_is_there_and_what_it_is_said_to_be():
    """The names for type checkers, for `import *` and at run time are the same things."""
    tree = ast.parse(Path(photonsim.__file__).read_text("utf-8"))
    typed = next(node for node in tree.body if isinstance(node, ast.If))
    named = {
        alias.name: found.module for found in typed.body for alias in getattr(found, "names", ())
    }
    assert sorted([*named, "__version__"]) == sorted(photonsim.__all__) == dir(photonsim)
    for name, module in named.items():
        if name != "figures":
            assert getattr(photonsim, name) is getattr(importlib.import_module(module), name), name


def test_help_shows_the_whole_door():
    text = pydoc.render_doc(photonsim, renderer=pydoc.plaintext)
    assert [name for name in photonsim.__all__ if name.strip("_") not in text.lower() + text] == []


def test_importing_the_package_imports_nothing():
    heavy = "{'numpy', 'numba', 'h5py', 'matplotlib', 'pydantic', 'scipy'} & set(sys.modules)"
    code = f"import sys, photonsim; dir(photonsim); sys.exit(' '.join({heavy}) or 0)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_what_a_study_comes_to_is_told_as_in_the_terminal(told):
    """In lines of 80 columns, as tests/cli/test_width.py asks of the commands."""
    for name in ("comparison", "sweep", "race", "tuning", "fit", "supply", "cutting", "lens"):
        words = photonsim.answer(told[name])
        assert words and max(map(len, words.splitlines())) <= 80, name
    with pytest.raises(TypeError, match="no answer"):
        photonsim.answer(told["scene"])


def test_what_is_looked_at_is_told_in_a_few_lines(told):
    for name, thing in told.items():
        assert 1 <= len(repr(thing).splitlines()) <= 12, name
        assert "object at 0x" not in repr(thing), name


def test_tables_and_maps_are_shown_in_a_notebook(told):
    for name in ("result", "map", "comparison", "sweep", "race", "tuning"):
        shown = told[name]._repr_html_()
        assert shown.count("<table>") == shown.count("</table>") <= 1
        assert ("data:image/png" in shown) == (name in ("result", "map"))


def test_html_is_of_our_own_making_alone(result):
    """A title is words, whatever it holds."""
    scene = result.scene.model_copy(update={"title": "<script>alert(1)</script>"})
    shown = photonsim.trace(scene, photons=256)._repr_html_()
    assert "<script>" not in shown and "&lt;script&gt;" in shown


def test_the_figures_of_merit_are_listed_by_their_headings():
    assert repr(photonsim.FIGURES["collected_fraction"]) == "<collected fraction, %>"


def test_an_estimate_is_printed_with_its_error():
    assert str(photonsim.Estimate(1.0288, 0.0013)) == "1.0288 ± 0.0013"


def test_tab_lists_keys_and_not_the_library_that_reads_them():
    scene = photonsim.load_scene(FILM)
    assert {"train", "emitters", "panel", "flux_lm"} <= set(dir(scene))
    for name in dir(scene):
        assert not name.startswith(("_", "model_")) and name not in ("json", "parse_obj", "dict")
    assert "z_mm" in dir(scene.panel)


def test_a_map_has_the_panel_for_axes_and_lux_for_unit(result):
    """Its mean over the area is all light that arrives; its edges those of the active area."""
    light = result.map("incident", blocks=24)
    panel, share = result.scene.panel, result.estimate("incident_fraction").value
    area = panel.active_width_mm * panel.active_height_mm * 1e-6
    step = panel.active_width_mm / 24
    assert light.unit == "lx" and light.shape == (len(light.axes["y_mm"]), 24)
    assert np.asarray(light).mean() == pytest.approx(share * result.scene.flux_lm / area, rel=0.01)
    assert light.axes["x_mm"][0] == pytest.approx(-0.5 * panel.active_width_mm + 0.5 * step)
    assert np.all(np.diff(light.axes["y_mm"]) > 0)


def test_a_map_goes_to_xarray_with_its_units(result):
    light = result.map("rms_angle", blocks=16)
    array = light.to_xarray()
    assert array.dims == ("y_mm", "x_mm") and array.attrs["units"] == "°"
    assert float(array.sel(x_mm=20.0, y_mm=-10.0, method="nearest")) in light.values


def test_tables_go_to_pandas(told):
    pytest.importorskip("pandas")
    assert told["result"].to_pandas().loc["collected_lm", "unit"] == "lm"
    assert len(told["sweep"].to_pandas()) == 16
    assert told["comparison"].to_pandas().index[0] == told["comparison"].designs[0].label


@pytest.mark.parametrize("library", ["pandas", "xarray"])
def test_what_is_not_installed_is_told_in_a_sentence(result, monkeypatch, library):
    monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(photonsim.ResultError, match=f"pip install {library}"):
        result.to_pandas() if library == "pandas" else result.map().to_xarray()


@pytest.mark.parametrize("count", [1024.0, np.int64(1024), np.float64(1024.0), 1024])
def test_counts_are_taken_as_people_write_them(count):
    assert photonsim.trace(FILM, photons=count, seed=np.uint32(7)).photons == 1024


HEIGHT = {"train.film.z_mm": [14]}
GUIDED = {
    "trace": (),
    "compare": (),
    "write_report": ("page",),
    "sweep": (HEIGHT,),
    "race": (),
    "tune": ({"train.film.z_mm": (8, 24)},),
    "tolerance": ({"train.film.z_mm": 1.0},),
}


@pytest.mark.parametrize("name", GUIDED)
def test_emission_is_guided_by_the_same_words_as_in_the_terminal(name, tmp_path, monkeypatch):
    command = main.commands[{"write_report": "report"}.get(name, name)]
    assert "guide" in {option.name for option in command.params}
    monkeypatch.chdir(tmp_path)
    lamps = [FILM, SCENES / "a_bars.toml"] if name == "race" else FILM
    more = {"most": "collected"} if name == "tune" else {}
    with pytest.raises(photonsim.ResultError, match="guide 'often': must be auto, off, a result"):
        getattr(photonsim, name)(lamps, *GUIDED[name], photons=1000, guide="often", **more)


def test_without_a_guide_a_count_is_not_rounded_up(result):
    for guide, count in (("off", 1000), (None, 1000), ("auto", 1024), (result, 1024)):
        found = photonsim.compare(FILM, photons=1000, guide=guide).results[0][1]
        assert found.photons == count
        swept = photonsim.sweep(FILM, HEIGHT, photons=1000, guide=guide)
        assert list(swept["photons"].values) == [count]


def test_a_file_stands_for_its_scene_or_result(tmp_path):
    scene = photonsim.load_scene(FILM)
    saved = photonsim.trace(scene, photons=FEW, save_to=tmp_path / "lamp.h5")
    for lamp in (FILM, str(FILM), saved, tmp_path / "lamp.h5"):
        assert photonsim.trace(lamp, photons=100).scene == scene
    assert photonsim.compare(tmp_path / "lamp.h5").results[0][1].photons == FEW


@pytest.mark.parametrize(
    ("call", "error", "words"),
    [
        (lambda: photonsim.trace(7), TypeError, "path"),
        (lambda: photonsim.trace(FILM, photons="many"), photonsim.ResultError, "whole number"),
        (lambda: photonsim.trace(FILM, photons=1.5), photonsim.ResultError, "whole number"),
        (lambda: photonsim.trace(FILM, photons=True), photonsim.ResultError, "whole number"),
        (lambda: photonsim.trace(FILM, photons=10, seed=-1), photonsim.ResultError, "from 0"),
        (lambda: photonsim.trace("nowhere.toml"), photonsim.SceneError, "no such file"),
        (lambda: photonsim.load_scene(None), TypeError, "path"),
        (lambda: photonsim.load_result(3), TypeError, "path"),
        (lambda: photonsim.Panel(z_mm="a"), photonsim.SceneError, "must be a number"),
        (lambda: photonsim.sweep(FILM, {}), photonsim.ResultError, "nothing varies"),
        (lambda: photonsim.sweep(FILM, {"train.filn": [1]}), photonsim.SceneError, "no such"),
        (lambda: photonsim.sweep(FILM, {"train.film.z_mm": 8}), TypeError, "no numbers"),
        (lambda: photonsim.sweep(FILM, [{"train.film.z_mm": "high"}]), TypeError, "no numbers"),
        (lambda: photonsim.fit(FILM, [], {"train.film.z_mm": (8,)}), TypeError, "no range"),
        (lambda: photonsim.compare([]), photonsim.ResultError, "nothing to compare"),
        (lambda: photonsim.tune(FILM, {}, most="collected"), photonsim.ResultError, "range"),
    ],
)
def test_a_mistake_is_told_in_our_own_words(call, error, words):
    with pytest.raises(error, match=words) as caught:
        call()
    assert "http" not in str(caught.value)


def test_a_part_that_is_changed_says_how_to_go_about_it():
    scene = photonsim.load_scene(FILM)
    with pytest.raises(photonsim.SceneError, match="with_numbers"):
        scene.train["film"].z_mm = 10.0
    assert scene.train["film"].z_mm == 14.0


def test_the_terminal_and_python_give_the_same_numbers(tmp_path):
    steps = ["--range", "train.film.z_mm", "12", "16", "3", "--photons", str(FEW)]
    done = CliRunner().invoke(main, ["sweep", str(FILM), "--out", str(tmp_path), *steps])
    assert done.exit_code == 0, done.output
    table = photonsim.sweep(FILM, {"train.film.z_mm": [12, 14, 16]}, photons=FEW)
    assert (tmp_path / "sweep.csv").read_text("utf-8") == table.as_csv()


def test_a_users_script_passes_the_type_checker(tmp_path):
    """With the checker's strictest settings, and nothing but the installed package."""
    pytest.importorskip("mypy")
    script = tmp_path / "loop.py"
    script.write_text(
        "import photonsim\n"
        'scene = photonsim.load_scene("lamp.toml")\n'
        "result = photonsim.trace(scene, photons=1e6, seed=3)\n"
        'share: float = result.estimate("collected fraction").value\n'
        'table = photonsim.sweep(scene, {"train.film.z_mm": [8, 12.5]}, photons=1e5)\n'
        'tuning = photonsim.tune(scene, {"train.film.z_mm": (8, 24)}, most="collected")\n'
        "if tuning.scene is not None:\n"
        '    photonsim.compare({"before": scene, "after": tuning.scene}).to_pandas()\n'
        "width: float = scene.panel.active_width_mm\n"
        "photonsim.figures.draw_maps(result)\n"
        "result.volts\n"
        'photonsim.trace(scene, photons="many")\n',
        "utf-8",
    )
    checked = [sys.executable, "-m", "mypy", "--strict", "--ignore-missing-imports", str(script)]
    done = subprocess.run(checked, capture_output=True, text=True, cwd=tmp_path)
    errors = [line for line in done.stdout.splitlines() if "error:" in line]
    assert [line.split("[")[-1] for line in errors] == ["attr-defined]", "arg-type]"], done.stdout


def test_plans_and_lenses_are_those_of_the_terminal():
    for command, plan in (
        (["supply", str(FILM)], photonsim.supply_plan(FILM)),
        (["lens", "--diameter", "60", "--centre", "9", "--edge", "4.3", "--focal", "187"],
         photonsim.kitchen_lens(60, 9, 4.3, 187)),
    ):  # fmt: skip
        done = CliRunner().invoke(main, command)
        assert done.exit_code == 0 and photonsim.answer(plan).strip() in done.output


def test_a_file_stands_for_its_variants_where_designs_are_compared(tmp_path):
    lamp = tmp_path / "lamp.toml"
    lamp.write_text(FILM.read_text("utf-8") + "\n[variants.high]\ntrain.film.z_mm = 16\n", "utf-8")
    assert len(photonsim.compare(lamp, photons=FEW).designs) == 2
    assert len(photonsim.compare(f"{lamp}:high", photons=FEW).designs) == 1
    assert len(photonsim.compare(tmp_path, photons=FEW).designs) == 2
    assert len(photonsim.race([lamp], photons=FEW).labels) == 2
    photonsim.trace(lamp, photons=FEW, save_to=tmp_path / "results" / "lamp.h5")
    found = photonsim.compare(tmp_path / "results").designs
    assert [design.result.photons for design in found] == [FEW]
    traced = photonsim.trace(f"{tmp_path / 'results' / 'lamp.h5'}:high", photons=100)
    assert traced.scene.train["film"].z_mm == 16.0


def test_the_best_of_a_study_makes_the_next_scene(tmp_path):
    table = photonsim.sweep(FILM, {"train.film.z_mm": [14, 30]}, photons=FEW)
    assert table.best() == table.best("collected, lm") == {"train.film.z_mm": 14.0}
    with pytest.raises(photonsim.ResultError, match="neither more nor less"):
        photonsim.sweep(
            FILM, {"train.film.z_mm": [14]}, photons=FEW, figures=["RMS angle"]
        ).best("RMS angle")  # fmt: skip
    with pytest.raises(photonsim.ResultError, match="no design has"):
        table.best("RMS blur")
    scene = photonsim.load_scene(FILM).with_numbers(table.best())
    (tmp_path / "best.toml").write_text("# mine\n", "utf-8")
    assert photonsim.load_scene(photonsim.save_scene(scene, tmp_path / "best.toml")) == scene
    assert (tmp_path / "earlier" / "best-1.toml").read_text("utf-8") == "# mine\n"
