"""What must be told with a result: light given up, and laws mended since it was made."""

from dataclasses import replace

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.kernel.allotment import Guide
from photonsim.kernel.tallies import EMISSION_CELLS
from photonsim.results import FIGURES, Estimate, ResultError
from photonsim.results.remarks.caveats import caveats, given_up, mean_weight, reach_of_given_up
from photonsim.results.remarks.laws import MENDED, mended_since, outdated
from photonsim.studies import Design, compare
from photonsim.studies.comparing.paired import difference
from photonsim.studies.comparing.race import RaceRule, race
from photonsim.studies.comparing.sequential import z_of
from photonsim.studies.comparing.tables import notes
from photonsim.studies.points import record_of, remark_on
from tests.shipped import scene

FRESNEL = """[train.sheet]
kind = "fresnel_lens"
z_mm = 51.0
focal_mm = 400.0
diameter_mm = 130.0
material = "acrylic"
grooves = "to_lamp"

[train.rear_lens]"""
# The picture is a hole of 4 mm in a box that absorbs nothing.
MIRRORS = {
    "walls": "reflectance = 0.95 => reflectance = 1.0",
    "share": "specular_share = 0.97 => specular_share = 0.5",
    "base": "reflectance = 0.05 => reflectance = 1.0",
    "faces": "reflectance = 0.5\n => reflectance = 1.0\n",
    "width": "active_width_mm = 95.04 => active_width_mm = 4.0",
    "height": "active_height_mm = 53.86 => active_height_mm = 4.0",
    "frame": "contrast = 400.0 => contrast = 400.0\nframe_reflectance = 1.0",
    "outer": "outer_width_mm = 105.5 => outer_width_mm = 108.0",
    "tall": "outer_height_mm = 67.2 => outer_height_mm = 70.0",
}


@pytest.fixture(scope="module")
def sound():
    return trace(scene("d"), photons=1 << 17)


def groups_of(result):
    return [group for _, group in result.fate_names]


def with_given_up(result, share):
    """The result as if so large a share of its light, absorbed in truth, had been given up."""
    fates = result.tallies.batches["fates"].copy()
    names = [name for name, _ in result.fate_names]
    lost, absorbed = groups_of(result).index("guard"), names.index("absorbed by walls")
    moved = round(share * result.emitted / len(fates))
    fates[:, lost] += moved
    fates[:, absorbed] -= moved
    assert (fates >= 0).all()
    batches = result.tallies.batches | {"fates": fates}
    return replace(result, tallies=replace(result.tallies, batches=batches))


def made_by(result, version):
    return replace(result, run=replace(result.run, program_version=version))


def test_a_box_of_perfect_mirrors_gives_light_up_and_says_so_loudly():
    result = trace(scene("e", **MIRRORS), photons=4_000)
    assert given_up(result) > 0.1
    (warning,) = caveats(result)
    assert warning.startswith("WARNING")
    assert f"{100.0 * given_up(result):.2g} %" in warning


def test_sound_results_have_no_caveats(sound):
    assert given_up(sound) == 0.0
    assert caveats(sound) == ()
    assert {reach_of_given_up(sound, name) for name in FIGURES} == {0.0}


def test_the_warning_begins_at_one_in_ten_thousand(sound):
    assert len(caveats(with_given_up(sound, 1e-3))) == 1
    # 13 of 131,072 are just below it, 14 above.
    for lost, told in ((13, 0), (14, 1)):
        few = with_given_up(sound, 0.0)
        lost *= few.tallies.counts_per_photon
        few.tallies.batches["fates"][0, groups_of(few).index("guard")] += lost
        assert len(caveats(few)) == told


def test_what_light_given_up_could_be_bounds_shares_and_lumens(sound):
    lossy = with_given_up(sound, 0.01)
    share = given_up(lossy)
    assert reach_of_given_up(lossy, "collected_fraction") == share
    # All of it through the stop, from 900 lm, behind panel and lenses that pass 6 and 90 %.
    assert reach_of_given_up(lossy, "collected_lm") == pytest.approx(share * 900.0 * 0.06 * 0.9)
    assert reach_of_given_up(lossy, "uniformity") == float("inf")


def test_no_difference_is_real_that_light_given_up_could_have_made(sound):
    other = trace(scene("a"), photons=1 << 17, guide=sound)
    change = difference(sound, other, "collected_lm")
    # d collects about 1 % of the emitted light more than a.
    table = compare([Design("a", other), Design("d", sound)])
    assert table.verdict(table.differences[0]) == "real"
    for lossy, verdict in ((with_given_up(sound, 0.02), "not shown"), (sound, "real")):
        table = compare([Design("a", other), Design("d", lossy)])
        assert table.verdict(table.differences[0]) == verdict
        assert any("WARNING" in note for note in notes(table)) == (verdict != "real")
    # Either design's: what the reference gave up may have been collected as well.
    table = compare([Design("a", with_given_up(other, 0.02)), Design("d", sound)])
    assert table.verdict(table.differences[0]) == "not shown"
    less = difference(with_given_up(sound, 0.002), with_given_up(other, 0.002), "collected_lm")
    assert (less.value, less.error) == (change.value, change.error)
    assert less.systematic == pytest.approx(2 * reach_of_given_up(with_given_up(sound, 0.002),
                                                                  "collected_lm"))  # fmt: skip
    assert 0.0 < z_of(less) < z_of(change)


def test_a_bound_takes_its_part_of_a_difference_before_chance_is_asked():
    assert Estimate(3.0, 1.0).chance_of_zero == pytest.approx(0.0027, abs=1e-5)
    assert Estimate(3.0, 1.0, systematic=1.0).chance_of_zero == pytest.approx(0.0455, abs=1e-4)
    assert Estimate(-3.0, 1.0, systematic=1.0).chance_of_zero == pytest.approx(0.0455, abs=1e-4)
    assert Estimate(3.0, 1.0, systematic=4.0).chance_of_zero == 1.0
    assert Estimate(3.0, 0.0, systematic=4.0).chance_of_zero == 1.0
    assert z_of(Estimate(-3.0, 1.0, systematic=1.0)) == -2.0
    assert z_of(Estimate(-3.0, 0.0, systematic=4.0)) == 0.0


def test_a_race_is_not_won_by_light_given_up():
    rule = RaceRule("collected_lm", 1 << 15)
    runs = [trace(scene(stem), photons=1 << 15, guide="off") for stem in "ad"]
    lossy = [with_given_up(run, 0.02) for run in runs]
    assert race(["a", "d"], rule, lambda k, *_: runs[k]).winner == 1
    outcome = race(["a", "d"], rule, lambda k, *_: lossy[k])
    assert outcome.winner is None and not outcome.alike
    assert "of the light was given up" in outcome.verdict()
    assert "given up" in remark_on(record_of(lossy[0]))
    even = race(["a", "d"], RaceRule("uniformity", 1 << 15), lambda k, *_: lossy[k])
    assert even.winner is None


def test_results_of_a_mended_law_are_told_by_version_and_scene(sound):
    sheet = trace(scene("d", sheet=f"[train.rear_lens] => {FRESNEL}"), photons=2_000)
    assert mended_since(sheet.run.program_version, sheet.scene) == ()
    for version in ("0.3.0", "0.1.0", ""):
        old = made_by(sheet, version)
        (words,) = outdated(old)
        assert "grooves" in words and "27 %" in words and version in words
        assert caveats(old) == (words,)
        assert outdated(made_by(sound, version)) == ()
    for version in ("0.4.0", "0.4.1", "0.10.0", "1.0.0"):
        assert outdated(made_by(sheet, version)) == ()
    with pytest.raises(ResultError, match=r"0\.3\.0.*grooves.*cannot be continued"):
        trace(sheet.scene, photons=3_000, resume=made_by(sheet, "0.3.0"))


def test_every_mended_law_was_mended_by_now(sound):
    """The program's own results are of no mended law."""
    for law in MENDED:
        assert law not in mended_since(sound.run.program_version, sound.scene)
        made = tuple(map(int, sound.run.program_version.split(".")))
        assert made >= tuple(map(int, law.version.split(".")))


def test_a_guide_that_suits_a_lamp_badly_is_told():
    """Bars are collected from a narrow beam; here photons are sent flat along the board."""
    collected = np.zeros(EMISSION_CELLS, dtype=np.int64)
    collected[-1000:] = 100
    flat = Guide(collected, 1 << 18, "pilot of 'Moat', seed 1")
    own, lamp = (trace(scene("a"), photons=1 << 15, guide=guide) for guide in ("auto", flat))
    assert caveats(own) == () and mean_weight(own) < 0.1
    assert 1.5 < mean_weight(lamp) <= 2.0
    assert "suits it badly" in caveats(lamp)[0] and "Moat" in caveats(lamp)[0]
    assert remark_on(record_of(lamp)) == "the guide suits it badly"
    assert remark_on(record_of(own)) == ""
