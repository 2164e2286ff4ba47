"""The panel's polariser: what light counts for behind it, and what a recycling sheet gains.

Gains: check-values-2.md, sections 4 (derived: a geometric series in two states) and 5 (traced by
an independent program). A lamp whose panel has an axis collects 1 + Q of its light.
"""

import math

import numpy as np
import pytest

import photonsim
from photonsim.scene import parse_scene
from tests.chance import assert_coverage, assert_mean
from tests.physics.polarised_rays import IDEAL, in_air, sheet, straight
from tests.physics.tracing import box, emitter, stop, target, trace

MIRRORS = "reflectance = 1.0, specular_share = 1.0"
WHOLE = pytest.mark.long
FOIL = (
    "pass_transmittance = 0.88\nblock_transmittance = 0.02\n"
    "pass_reflectance = 0.10\nblock_reflectance = 0.96\n"
)
RECYCLER = f"{IDEAL}pass_reflectance = 0.0\nblock_reflectance = 1.0\n"
BELOW_10_DEG = 10


def cavity(sheets="", axis=None, base=0.9, mirror=0.0, beyond=""):
    """A base that glows all over, mirrors around, sheets, a panel, and a stop that takes all."""
    face = emitter("width_mm = 50.0\nheight_mm = 50.0", reflectance=base, specular_share=mirror)
    known = "" if axis is None else f"polariser_deg = {axis}\n"
    panel = target(10.0, 50.0) + known
    return (
        box(50.0, 10.0, base=base, walls=MIRRORS)
        + face
        + sheets
        + panel
        + beyond
        + stop(30.0 if beyond else 10.1, 1e5 if beyond else 400.0)
    )


def gain_of(traced):
    """Collected over emitted, batch by batch: 1 without any sheet."""
    return traced.batches["collected"] / (traced.photons / len(traced.batches["collected"]))


SIZES = [pytest.param(2**18), pytest.param(10_000_000, marks=WHOLE)]
# Sheet, the panel's axis from the sheet's, reflectance and mirror share of the base, gain.
GAINS = [
    (RECYCLER, 0.0, 0.5, 0.0, 1.33333),
    (RECYCLER, 0.0, 0.9, 0.0, 1.81818),
    (RECYCLER, 0.0, 0.8, 0.5, 1.5),
    (RECYCLER, 0.0, 0.9, 1.0, 1.0),
    (FOIL, 0.0, 0.8, 0.0, 1.52778),
    (FOIL, 90.0, 0.8, 0.0, 0.03472),
    (FOIL, 0.0, 0.9, 0.5, 1.54567),
    (FOIL, 30.0, 0.8, 0.0, 1.15451),
]


@pytest.mark.parametrize("photons", SIZES)
@pytest.mark.parametrize(("figures", "turn", "base", "mirror", "gain"), GAINS)
def test_recycling(figures, turn, base, mirror, gain, photons):
    # Section 4, to five digits; turned sheets as for light straight on.
    text = cavity(sheet(1, 0.0, figures, "reflective"), turn, base, mirror)
    traced = trace(text, photons, as_if=straight)
    assert_mean(gain_of(traced), gain, known_to=3e-6)


def film(along):
    return f'[train.film]\nkind = "prism_film"\nz_mm = 4.0\nindex = 1.586\nalong_deg = {along}\n'


# Film, sheet above it, the panel's axis; flux behind the panel's polariser and that within 10°.
FILMS = [
    (None, None, 0.0, 0.5, 0.015077, 0.0),
    (None, 0.0, 0.0, 0.909091, 0.027413, 0.0),
    (0.0, None, 90.0, 0.4796, 0.02846, 0.0005),
    (0.0, None, 0.0, 0.4329, 0.02671, 0.0005),
    (0.0, 90.0, 90.0, 0.7833, 0.0431, 0.0005),
    (0.0, 0.0, 0.0, 0.7697, 0.0427, 0.0005),
    (0.0, 90.0, 0.0, 0.0697, 0.0, 0.0005),
]


@pytest.mark.parametrize("photons", [pytest.param(2**19), pytest.param(10_000_000, marks=WHOLE)])
@pytest.mark.parametrize(("along", "pass_deg", "axis", "all_of_it", "near", "known_to"), FILMS)
def test_film_recycler_and_panel_over_a_matt_base(
    along, pass_deg, axis, all_of_it, near, known_to, photons
):
    # Section 5, the last table: sheets in air, ideal; errors 0.0005 and 0.0003.
    sheets = "" if along is None else film(along)
    if pass_deg is not None:
        sheets += sheet(1, pass_deg, RECYCLER, "reflective")
    traced = trace(cavity(sheets, axis), photons, as_if=in_air)
    assert_mean(0.5 * gain_of(traced), all_of_it, known_to=known_to)
    polar = traced.batches["polar"][:, 1, :BELOW_10_DEG].sum(axis=1)
    per_batch = traced.photons / len(polar)
    if near > 0.0:
        assert_mean(0.5 * polar / per_batch, near, known_to=0.0003 if known_to else 0.0)
    else:
        assert polar.sum() / traced.photons < 2e-4


def test_an_axis_is_nothing_to_unpolarised_light():
    # Not a bit: no number is drawn for it.
    mist = 'kind = "diffuser"\nz_mm = 5.0\ntransmittance = 0.6\nreflectance = 0.3\nopal = true\n'
    one, other = (
        trace(cavity(f"[train.mist]\n{mist}", axis), 2**16).batches for axis in (None, 35.0)
    )
    for name, counts in one.items():
        np.testing.assert_array_equal(counts, other[name])


@pytest.mark.parametrize(("axis", "times"), [(0.0, 2), (90.0, 0)])
def test_polarised_light_counts_twice_or_not_at_all(axis, times):
    lamp = cavity(sheet(1, 0.0), axis)
    traced = trace(lamp, 2**16, as_if=straight)
    plain = trace(cavity(sheet(1, 0.0)), 2**16, as_if=straight)
    assert traced.batches["collected"].sum() == times * plain.batches["collected"].sum()
    for name in ("incident", "fates", "direction_sums"):
        np.testing.assert_array_equal(traced.batches[name], plain.batches[name])
    for name in ("cells", "profile_x", "profile_y", "polar", "plane_x", "plane_y"):
        ours, theirs = traced.batches[name], plain.batches[name]
        np.testing.assert_array_equal(ours[:, 0], theirs[:, 0])
        np.testing.assert_array_equal(ours[:, 1], times * theirs[:, 1])
    squares = plain.batches["squares"] * np.array([1, times**2])[:, None, None]
    np.testing.assert_array_equal(traced.batches["squares"], squares)
    np.testing.assert_array_equal(traced.pupil, times * plain.pupil)
    sums = plain.panel_sums * np.array([1, times, 1, 1, 1, 1])
    np.testing.assert_array_equal(traced.panel_sums, sums)
    assert sum(traced.fates.values()) == traced.photons


# A pane with coats like mirrors, which sends light back through the panel.
PANE = (
    '[train.pane]\nkind = "real_lens"\nz_mm = 14.0\nthickness_mm = 2.0\ndiameter_mm = 1000.0\n'
    "index = 1.5\ncoating_reflectance = 0.5\n"
)


@pytest.mark.parametrize(("axis", "times"), [(0.0, 2), (90.0, 0)])
def test_light_that_comes_to_the_pixels_again_counts_no_more(axis, times):
    clear = cavity(sheet(1, 0.0, RECYCLER, "reflective"), axis, beyond=PANE).replace(
        "polariser_deg", "transmittance = 0.3\npolariser_deg"
    )
    traced = trace(clear, 2**15, as_if=straight)
    assert traced.fates["absorbed by target"] > 0 < traced.through_stop
    assert traced.batches["collected"].sum() == times * traced.through_stop


@pytest.mark.parametrize(("known", "lost"), [("polariser_deg = 0.0\n", 0.0), ("", 0.5)])
def test_light_comes_back_through_the_panel_by_its_polarisation(known, lost):
    # A panel of 0.5 passes all light along its axis, so none of the light that comes straight back
    # from a mirror behind it is lost there; where no axis is known half of it is.
    lamp = cavity(sheet(1, 0.0), base=0.0, beyond=PANE.replace("= 0.5", "= 0.9"))
    lamp = lamp.replace("flux_lm", "half_angle_deg = 1.0\nflux_lm")
    lamp = lamp.replace("[train.pane]", f"transmittance = 0.5\n{known}[train.pane]")
    traced = trace(lamp, 2**14)
    back = traced.photons - traced.through_stop - traced.fates["absorbed by sheet_1"]
    assert traced.fates["absorbed by target"] / back == pytest.approx(lost, abs=0.03)


def lamp_for_errors(turn):
    return parse_scene(cavity(sheet(1, turn), 0.0, base=0.5).replace("rows = 9", "rows = 18"))


def test_errors_of_light_that_counts_twice_are_right():
    # cos 60° of half the light: counted once or twice. Over seeds, runs of 32,768 photons.
    lamp = lamp_for_errors(30.0)
    runs = [photonsim.trace(lamp, photons=32_768, seed=seed, guide="off") for seed in range(1, 41)]
    truth = photonsim.trace(lamp, photons=2**21, seed=99, guide="off")
    for name in ("collected_fraction", "polarisation_gain"):
        found = [run.estimate(name) for run in runs]
        known = truth.estimate(name)
        values, errors = [one.value for one in found], [one.error for one in found]
        assert_coverage(values, errors, known.value, known_to=known.error, what=name)
    cells = np.array([run.tallies.batches["cells"][:, 1].sum(axis=0) for run in runs])
    squares = np.array([run.tallies.batches["squares"][:, 1].sum(axis=0) for run in runs])
    # By the squares of the weights a cell's light is as sure as it scatters; the emission's net
    # makes it surer. Weights forgotten would make it 1.6 times too sure.
    ratio = cells.var(axis=0, ddof=1).mean() / squares.mean()
    assert 0.6 < ratio < 1.1


def test_a_result_of_doubled_photons_is_sound_and_tells_its_gain(tmp_path):
    lamp = parse_scene(cavity(sheet(1, 0.0), 0.0, base=0.5))
    result = photonsim.trace(lamp, photons=65_536, seed=4)
    result.save(tmp_path / "doubled.h5")
    found = photonsim.load_result(tmp_path / "doubled.h5")
    assert found.estimate("polarisation_gain").value == 2.0
    assert found.fates[0].photons * 2.0 == pytest.approx(
        found.estimate("collected_fraction").value * found.photons
    )
    assert "gain by polarisation" in repr(found)
    assert math.isclose(sum(fate.photons for fate in found.fates), found.photons)
