"""Results of photonsim 0.3.0 load, are shown without what was not counted, and say so."""

import subprocess
import sys
from dataclasses import replace

import h5py
import numpy as np
import pytest

import photonsim
from photonsim.engine import trace
from photonsim.figures import draw_stop
from photonsim.results import ResultError, load_result, screen_of
from photonsim.results.files.file import FORMAT
from photonsim.results.files.layout import FORMAT_VERSION, axes_of, datasets_of
from photonsim.results.files.seal import seal
from photonsim.results.files.table_file import load_table, save_table
from photonsim.results.picture.stop import trade_off, uncounted
from photonsim.results.picture.zones import zones_of
from photonsim.results.remarks.caveats import caveats
from photonsim.results.remarks.laws import outdated_study
from tests.fuzz.commands import run
from tests.results.older import PHOTONS, SEED, STUDY, unpacked
from tests.shipped import scene

LAWS = "light that met the grooves of a Fresnel lens first was too strong"
WITHHELD = "how full the stop is and what a smaller one would leave were not counted"


@pytest.fixture
def old(tmp_path):
    return unpacked(tmp_path)


def written_as_version_1(path):
    """Turn a file of today into what 0.3.0 would have written of the same light."""
    with h5py.File(path, "a") as file:
        spots = file["screen/spots"][()]
        joined, bins = np.zeros((9, 9, 32, 32), dtype=np.int64), spots.shape[3]
        for level in range(spots.shape[2]):
            # Of n bins, number k of a square half as wide lies in n // 4 + k // 2 of that around
            # it, and so on; today's are half as wide as those of 0.3.0.
            place = np.arange(bins)
            for _ in range(level):
                place = bins // 4 + place // 2
            place //= bins // 32
            for row, column in np.ndindex(bins, bins):
                joined[:, :, place[row], place[column]] += spots[:, :, level, row, column]
        sums = file["screen/stop_sums"][..., :4]
        for name in ("screen/spots", "screen/stop_sums", "batches/rings", "batches/squares"):
            del file[name]
        del file["emission"]
        file["screen/spots"], file["screen/stop_sums"] = joined, sums
        file.attrs["format_version"] = 1
        del file.attrs["counts_version"]
    seal(path, FORMAT)


def test_a_file_of_030_holds_what_030_counted(old):
    with h5py.File(old) as file:
        assert file.attrs["format_version"] == 1
        spots, sums = file["screen/spots"][()], file["screen/stop_sums"][()]
        collected = file["batches/collected"][()].sum()
    result = load_result(old)
    assert (result.photons, result.seed, result.run.program_version) == (PHOTONS, SEED, "0.3.0")
    np.testing.assert_array_equal(result.tallies.spots, spots[:, :, None])
    np.testing.assert_array_equal(result.tallies.stop_sums, sums)
    assert result.estimate("collected_fraction").value == collected / PHOTONS


def test_what_030_did_not_count_is_withheld_and_says_why(old):
    result = load_result(old)
    assert trade_off(result) == []
    assert all(np.isnan(zone.filled.value) for zone in zones_of(screen_of(result)))
    assert uncounted(result) == "not counted by photonsim 0.3.0"
    law, withheld = caveats(result)
    assert LAWS in law and withheld.startswith(WITHHELD) and "0.3.0" in withheld
    drawn = draw_stop(result)
    words = [text.get_text() for text in drawn.texts]
    titles = [" ".join(axes.get_title(loc="left").split()) for axes in drawn.axes]
    assert any("not counted by photonsim 0.3.0" in text for text in words)
    assert len(titles) == 9 and all("filling not counted" in title for title in titles)


def test_saved_again_it_is_of_the_new_version_and_counts_as_little(old, tmp_path):
    result = load_result(old)
    result.save(tmp_path / "again.h5")
    with h5py.File(tmp_path / "again.h5") as file:
        assert file.attrs["format_version"] == FORMAT_VERSION == 3
        assert file.attrs["counts_version"] == 1
    again = load_result(tmp_path / "again.h5")
    assert caveats(again) == caveats(result)
    axes = axes_of(again)
    both = (datasets_of(lamp.tallies) for lamp in (result, again))
    for (path, ours, names, _), (_, theirs, *_) in zip(*both, strict=True):
        np.testing.assert_array_equal(ours, theirs, err_msg=path)
        assert ours.shape == tuple(len(axes[name][0]) for name in names)


def test_light_of_today_read_as_of_version_1_tells_the_same(tmp_path):
    """Only the 80 % radius is coarser, and says so by its error."""
    path = tmp_path / "lamp.h5"
    # 0.3.0 had no guides.
    trace(scene("h"), photons=1 << 20, guide="off", save_to=path)
    new = load_result(path)
    written_as_version_1(path)
    older = load_result(path)
    assert older.tallies.counts_version == 1 and new.tallies.counts_version == 3
    assert older.estimate("blur") == new.estimate("blur")
    for a, b in zip(zones_of(screen_of(older)), zones_of(screen_of(new)), strict=True):
        assert (a.blur, a.centroid_shift) == (b.blur, b.centroid_shift)
        assert (a.colour, a.light) == (b.colour, b.light)
        assert a.radius_80.error >= b.radius_80.error
        # Bins hide the same light from both: no chance between them but that of the bins.
        assert abs(a.radius_80.value - b.radius_80.value) < 2.0 * a.radius_80.error


@pytest.mark.parametrize("version", [0, -1, 4])
def test_versions_that_there_are_not_are_refused(old, version):
    with h5py.File(old, "a") as file:
        file.attrs["format_version"] = version
    seal(old, FORMAT)
    with pytest.raises(ResultError, match=f"format version {version}"):
        load_result(old)


@pytest.mark.parametrize("version", [0, 4])
def test_counts_of_no_version_are_refused(old, tmp_path, version):
    again = tmp_path / "again.h5"
    load_result(old).save(again)
    with h5py.File(again, "a") as file:
        file.attrs["counts_version"] = version
    seal(again, FORMAT)
    with pytest.raises(ResultError, match="counts of a version"):
        load_result(again)


@pytest.mark.parametrize(
    "verb",
    [
        ("figures", "--paths", "3", "--format", "png"),
        ("compare",),
        ("report",),
        ("preview",),
    ],
)
def test_every_verb_takes_it_and_tells(old, verb):
    ended, complaints = run(verb[0], old, *verb[1:], "--out", old.parent)
    assert not complaints and ended.exit_code == 0, ended.output
    words = " ".join(ended.output.split())
    if verb == ("report",):
        words = (old.parent / "report.md").read_text("utf-8")
    assert LAWS in words and WITHHELD in words


def test_a_study_of_030_is_reported_with_the_law_that_was_mended(old):
    study = unpacked(old.parent, STUDY)
    table = load_table(study)
    assert table.kind == "sweep" and table["train.film.z_mm"].values.tolist() == [8.0, 12.0]
    (told,) = outdated_study(table)
    assert LAWS in told and "0.3.0 or older" in told
    ended, complaints = run("report", old, "--study", study, "--out", old.parent)
    assert not complaints and ended.exit_code == 0, ended.output
    words = (old.parent / "report.md").read_text("utf-8")
    assert "made by photonsim 0.3.0 or older, in which light" in words
    now = replace(table, program_version=photonsim.__version__)
    assert outdated_study(now) == outdated_study(replace(table, scene="")) == ()
    save_table(now, old.parent / "now.h5")
    assert load_table(old.parent / "now.h5").program_version == photonsim.__version__


def test_replay_says_that_the_path_may_be_another(old):
    # In a process of its own: it turns the compiler off.
    command = [sys.executable, "-m", "photonsim", "replay", str(old), "3"]
    ended = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ended.returncode == 0
    assert "made by photonsim 0.3.0" in ended.stderr and "another path" in ended.stderr
