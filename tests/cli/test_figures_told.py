"""What commands print and write: numbers, units and choices, against the result that they tell."""

import csv
import importlib
import re
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.engine import forecast
from photonsim.results import Estimate, load_result
from tests.shipped import SCENES

FILES = {path.stem[0]: path for path in SCENES}
MM_PER_POINT = 25.4 / 72.0


def run(*arguments):
    done = CliRunner().invoke(main, [str(argument) for argument in arguments])
    assert done.exit_code == 0, done.output
    return done.output


@pytest.fixture(scope="module")
def traced(tmp_path_factory):
    """(what `trace` prints, the result) of the split film."""
    folder = tmp_path_factory.mktemp("traced")
    told = run("trace", FILES["d"], "--photons", "100_000", "--verbose", "--out", folder)
    return told, load_result(folder / f"{FILES['d'].stem}.h5")


def test_half_the_error_takes_four_times_the_photons(traced, tmp_path):
    """The standard error of a share is sqrt(p (1 - p) / n): half of it at 4 n."""
    told, result = traced
    found = re.search(r"half the error takes ([\d,]+) photons in all", " ".join(told.split()))
    wanted = int(found.group(1).replace(",", ""))
    p = result.estimate("collected_fraction").value
    error = np.sqrt(p * (1.0 - p) / np.array([result.photons, wanted]))
    assert error[1] / error[0] == pytest.approx(0.5)
    # The three quarters that are still to trace take three seconds at a rate of n a second.
    assert "3,600,000 photons in all, about 3 s more" in forecast(
        Estimate(1.0, 0.1), 900_000, 900_000.0
    )


def test_fates_are_told_in_per_cent_of_all_photons(traced):
    told, result = traced
    rows = re.findall(r"^  (\S.*?) +([\d,]+) +([\d.]+) %$", told, re.MULTILINE)
    counts = {name: int(count.replace(",", "")) for name, count, _ in rows}
    # Each is rounded to a whole photon.
    assert sum(counts.values()) == pytest.approx(result.photons, abs=0.5 * len(counts))
    assert sum(float(share) for *_, share in rows) == pytest.approx(100.0, abs=0.1)
    collected = result.tallies.batches["collected"].sum() / result.tallies.counts_per_photon
    assert counts["through the objective"] == round(collected)
    lumens = re.search(r"collected +([\d.]+) ± [\d.]+ lm", told)
    panel = result.scene.panel.transmittance * 0.9  # of the field lens; 45 LEDs of 20 lm
    assert float(lumens.group(1)) == pytest.approx(
        900.0 * panel * collected / result.photons, rel=0.02
    )


def test_differences_are_taken_to_the_design_that_is_asked_for(tmp_path):
    options = ("--photons", "20000", "--out", tmp_path)
    run("trace", FILES["a"], FILES["f"], *options)
    files = [tmp_path / f"{FILES[stem].stem}.h5" for stem in "af"]
    titles = [load_result(file).scene.title for file in files]
    first, best = run("compare", *files), run("compare", *files, "--against", "best")
    for told, title in ((first, titles[0]), (best, titles[1])):
        assert "reference" in next(line for line in told.splitlines() if title in line)
    whole = run("compare", *files, "--verbose", "--against", "best")
    assert f"differences are to '{titles[1]}'" in " ".join(whole.split())


def test_the_least_wins_a_race_for_the_least(tmp_path):
    options = ("--photons", "32768", "--figure", "collected_lm")
    names = {stem: FILES[stem].read_text("utf-8").split('title = "')[1].split('"')[0]
             for stem in "af"}  # fmt: skip
    most = run("race", FILES["a"], FILES["f"], *options, "--out", tmp_path / "most")
    least = run("race", FILES["a"], FILES["f"], *options, "--least", "--out", tmp_path / "least")
    assert f"'{names['f']}' wins" in most
    assert f"'{names['a']}' wins" in least
    with (tmp_path / "least" / "race.csv").open(encoding="utf-8") as file:
        assert next(csv.DictReader(file))["outcome"] == "winner"


def test_kerf_goes_onto_the_sheet(tmp_path):
    """A strip of 108 x 12 mm is followed 0.2 mm outside its edge by a cut 0.4 mm wide."""
    run("cut", FILES["d"], "--kerf", 0.4, "--out", tmp_path)
    sheet = ElementTree.parse(tmp_path / f"{FILES['d'].stem}-cutting-whole.svg")
    (line, *_) = (
        path.get("d")
        for group in sheet.iter("{http://www.w3.org/2000/svg}g")
        if group.get("id") == "film strip"
        for path in group.iter("{http://www.w3.org/2000/svg}path")
    )
    numbers = np.array([float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", line)]) * MM_PER_POINT
    sizes = sorted((np.ptp(numbers[0::2]), np.ptp(numbers[1::2])))
    assert sizes == pytest.approx([12.4, 108.4], abs=1e-3)


def test_figures_come_in_the_form_that_is_asked_for(tmp_path):
    lamp = Path(__file__).parents[1] / "small_lamps" / "point_lamp.toml"
    run("trace", lamp, "--photons", 2000, "--out", tmp_path)
    run("figures", tmp_path / "point_lamp.h5", "--format", "svg", "--out", tmp_path / "drawn")
    drawn = [path for path in (tmp_path / "drawn").iterdir() if not path.name.startswith(".")]
    assert {path.suffix for path in drawn} == {".svg"}


def test_only_the_figures_that_are_asked_for_come_and_as_wide(tmp_path):
    """A PNG holds its size in dots and dots a metre (PNG, W3C recommendation, IHDR and pHYs)."""
    lamp = Path(__file__).parents[1] / "small_lamps" / "point_lamp.toml"
    run("trace", lamp, "--photons", 2000, "--out", tmp_path)
    out = tmp_path / "drawn"
    asked = ("--only", "maps, side_view", "--format", "png,pdf", "--width-mm", 127, "--dpi", 100)
    run("figures", tmp_path / "point_lamp.h5", *asked, "--no-labels", "--out", out)
    names = {path.name for path in out.iterdir() if not path.name.startswith(".")}
    kinds = ("png", "pdf")
    assert names == {
        f"point_lamp-{name}.{kind}" for name in ("maps", "side_view") for kind in kinds
    }
    head = (out / "point_lamp-maps.png").read_bytes()
    assert int.from_bytes(head[16:20], "big") == 500
    place = head.index(b"pHYs") + 4
    assert int.from_bytes(head[place : place + 4], "big") == pytest.approx(100 / 0.0254, abs=1.0)
    assert (out / "point_lamp-maps.pdf").read_bytes().startswith(b"%PDF")


def test_limits_of_a_yield_point_the_right_way(tmp_path, monkeypatch):
    """A million lumens no lamp has: none collects so many at least, all do so many at most."""
    tolerance = importlib.import_module("photonsim.cli.tolerance")
    monkeypatch.setattr(tolerance, "leave_table", lambda *_: [])
    lamp = Path(__file__).parents[1] / "small_lamps" / "point_lamp.toml"
    common = ("tolerance", lamp, "--within", "train.stop.diameter_mm", 0.5, "--builds", 100,
              "--photons", 16_384, "--show", "collected_lm")  # fmt: skip
    least = run(*common, "--at-least", "collected_lm", 1e6, "--out", tmp_path / "least")
    most = run(*common, "--at-most", "collected_lm", 1e6, "--out", tmp_path / "most")
    assert "yield: 0.0 %" in least
    assert "yield: 100.0 %" in most
