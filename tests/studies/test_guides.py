"""One guide for a study, that of its reference; each row can be had alone, with the same bits."""

import pytest
from click.testing import CliRunner

import photonsim
from photonsim.cli import main
from photonsim.engine import trace
from photonsim.engine.pilot import pilot
from photonsim.kernel.allotment import digest_of
from photonsim.results import load_result
from photonsim.results.remarks.caveats import mean_weight
from photonsim.studies import Design, compare
from photonsim.studies.comparing.paired import are_paired, difference
from photonsim.studies.comparing.tables import notes
from photonsim.studies.effort import Effort
from photonsim.studies.goals import Bound, Goal
from photonsim.studies.points import Setting, record_of, remark_on
from photonsim.studies.search import Search
from photonsim.studies.sweep import sweep
from photonsim.studies.tune import tune
from tests.same_bits import assert_same_bits
from tests.shipped import FOLDER, SCENES, scene

D, FILM = scene("d"), "train.film.z_mm"
POLARISED = photonsim.load_scene(FOLDER / "backlight" / "bars.toml")


def run(*args):
    """Run a command; return what it printed."""
    done = CliRunner().invoke(main, [str(arg) for arg in args])
    assert done.exit_code == 0, done.output
    return done.output


def test_a_like_design_shares_the_guide_of_its_reference_and_an_unlike_one_has_its_own():
    guide = pilot(D, 1)
    moved = D.with_numbers({FILM: 16.0})
    assert pilot(moved, 1, [guide]) is guide
    bars = pilot(scene("a"), 1)
    assert pilot(D, 1, [bars]).digest == guide.digest
    assert pilot(D, 1, [None]).digest == guide.digest


@pytest.mark.parametrize("lamp", [D, POLARISED], ids=["film", "polarised"])
def test_the_mean_weight_is_what_the_pilot_foretells(lamp):
    """The sum of w**2 over that of w: by the traced photons, and by another pilot of the lamp."""
    another = pilot(lamp, 7)
    for guide in (pilot(scene("a"), 1), pilot(D, 1)):
        found = mean_weight(trace(lamp, photons=1 << 18, guide=guide))
        assert found == pytest.approx(1.0 / guide.gain_for(another.collected), rel=0.1)


def test_a_guide_is_not_blamed_for_what_polarised_light_weighs():
    """Light of the panel's polarisation counts twice there, with a guide or without."""
    free = trace(POLARISED, photons=1 << 15, guide="off")
    assert mean_weight(free) == 1.0
    assert remark_on(record_of(free)) == ""


def test_results_of_different_guides_have_independent_errors_and_that_is_said():
    one = trace(D, photons=1 << 15)
    apart = trace(D, photons=1 << 15, guide="off")
    assert not are_paired(one, apart)
    errors = [result.estimate("collected_lm").error for result in (one, apart)]
    change = difference(one, apart, "collected_lm")
    assert change.error == pytest.approx(sum(error**2 for error in errors) ** 0.5)
    table = compare([Design("one", one), Design("apart", apart)])
    assert any("guide of the emission" in note for note in notes(table))


def test_points_of_a_study_have_the_guide_of_its_scene():
    setting = Setting(D, Effort(0.5, most_photons=1 << 14), threads=1)
    table = sweep(setting, [{FILM: 12.0}, {FILM: 16.0}])
    assert setting.definition("sweep")["guide"] == digest_of(pilot(D, 1)) != ""
    alone = trace(D.with_numbers({FILM: 16.0}), photons=1 << 14, guide=setting.guide)
    found = 100.0 * alone.estimate("collected_fraction").value
    assert table["collected_fraction"].values[1] == pytest.approx(found, rel=1e-12)
    off = Setting(D, setting.effort, threads=1, guiding="off")
    assert off.definition("sweep")["guide"] == ""


def test_a_search_finds_its_guide_once(monkeypatch):
    found = []
    monkeypatch.setattr(
        "photonsim.engine.pilot.pilot", lambda *given: found.append(given) or pilot(*given)
    )
    setting = Setting(D, Effort(0.5, most_photons=1 << 14), threads=1)
    search = Search((Goal("collected_lm", 1),), (), (Bound(FILM, 12.0, 16.0, False),), trials=3)
    tune(setting, search)
    assert len(found) == 1


def test_pilots_take_no_more_threads_than_were_given(monkeypatch, tmp_path):
    given = []
    monkeypatch.setattr(
        "photonsim.engine.pilot.pilot", lambda *asked: given.append(asked[3]) or pilot(*asked)
    )
    lamps = SCENES[0], SCENES[3]
    photonsim.compare(lamps, photons=1 << 12, threads=1)
    photonsim.race(lamps, photons=1 << 14, threads=1)
    few = "--threads", 1, "--photons", 1 << 14, "--out"
    run("compare", *lamps, *few, tmp_path / "compare")
    run("race", *lamps, *few, tmp_path / "race")
    run("sweep", SCENES[3], "--values", FILM, "12,16", *few, tmp_path / "sweep")
    assert given == 9 * [1]


def test_any_row_of_a_comparison_can_be_had_alone(tmp_path):
    """Its bits are those of `trace --guide RESULT`; another design changes no earlier result."""
    moved = tmp_path / "moved.toml"
    moved.write_text(D.with_numbers({FILM: 16.0}).text, encoding="utf-8")
    first = next(path for path in SCENES if path.stem.startswith("d_"))
    other = next(path for path in SCENES if path.stem.startswith("f_"))
    options = ("--photons", 1 << 14, "--out", tmp_path / "all")
    run("compare", first, moved, *options)
    row = load_result(tmp_path / "all" / "moved.h5")
    run("trace", moved, "--photons", 1 << 14, "--out", tmp_path / "alone",
        "--guide", tmp_path / "all" / f"{first.stem}.h5")  # fmt: skip
    assert_same_bits(load_result(tmp_path / "alone" / "moved.h5"), row)
    told = run("compare", first, moved, other, *options)
    assert "traced anew" not in told
    assert_same_bits(load_result(tmp_path / "all" / "moved.h5"), row)
    run("trace", moved, "--photons", 1 << 14, "--out", tmp_path / "plain", "--guide", "off")
    assert load_result(tmp_path / "plain" / "moved.h5").tallies.guide is None


def test_a_guide_that_is_none_is_told(tmp_path):
    none = tmp_path / "none.h5"
    none.write_text("a shopping list")
    done = CliRunner().invoke(main, ["trace", str(SCENES[0]), "--guide", str(none)])
    assert done.exit_code == 2 and "none.h5" in done.output
