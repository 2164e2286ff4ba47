"""Zones of the picture: which cells they join, how full the stop is, and their figures by hand."""

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.kernel.landing import ring_of
from photonsim.results import screen_of
from photonsim.results.panel.field import CORNERS, MIDDLE, ZONES, outward
from photonsim.results.picture import blur
from photonsim.results.picture.screen import one_cell
from photonsim.results.picture.spot import radius_80_mm
from photonsim.results.picture.stop import stop_filled
from photonsim.results.picture.zones import zones_of
from photonsim.results.tallies import DIRECTION_SCALE
from tests.chance import assert_coverage, assert_distribution
from tests.shipped import scene

ONE = np.ones(1)


@pytest.fixture(scope="module")
def view():
    return screen_of(trace(scene("h"), photons=800_000))


def test_zones_do_not_overlap_and_turn_into_themselves():
    joined = sum(cells.astype(int) for cells in ZONES.values())
    assert joined.max() == 1
    assert [int(cells.sum()) for cells in ZONES.values()] == [9, 6, 6, 4]
    for cells in ZONES.values():
        np.testing.assert_array_equal(cells, cells[::-1, ::-1])


def test_outward_is_a_unit_vector_away_from_the_axis():
    away = outward(90.0, 45.0)
    assert away[4, 8] == pytest.approx((1.0, 0.0))
    assert away[0, 4] == pytest.approx((0.0, -1.0))
    assert away[8, 0] == pytest.approx(np.array((-2.0, 1.0)) / np.sqrt(5.0))
    assert tuple(away[4, 4]) == (0.0, 0.0)


def filled(stop_sums):
    """Return the filling by photons of one weight."""
    return stop_filled(stop_sums, np.ones(len(stop_sums)))


def even_stop(photons, inside, seed=3, weights=None):
    """Return sums [1, 16, 16, 5] of photons spread evenly over a disc of a share of the radius."""
    rng = np.random.default_rng(seed)
    radius, turn = inside * np.sqrt(rng.random(photons)), 2.0 * np.pi * rng.random(photons)
    places = np.stack([radius * np.sin(turn), radius * np.cos(turn), np.arange(photons) % 2])
    counts, _ = np.histogramdd(
        places.T, bins=(16, 16, 2), range=[(-1, 1), (-1, 1), (0, 1)], weights=weights
    )
    sums = np.zeros((1, 16, 16, 5), dtype=np.int64)
    sums[0, ..., 0], sums[0, ..., 4] = counts.sum(axis=-1), counts[..., 1]
    return sums


@pytest.mark.parametrize("inside", [1.0, 0.75, 0.5])
def test_stop_is_filled_by_area(inside):
    """A disc of half the radius is a quarter of the area, the rim smeared by half a bin or less."""
    found = filled(even_stop(300_000, inside))
    assert found.value == pytest.approx(inside**2, rel=0.06)
    assert found.error < 0.005


def test_an_even_stop_sends_as_much_through_each_ring_as_its_area():
    """Derived: within a radius r of an even disc of radius R lies (r / R)**2 of the light."""
    rng = np.random.default_rng(7)
    radius, turn = np.sqrt(rng.random(100_000)), 2.0 * np.pi * rng.random(100_000)
    x, y = 0.5 + 0.5 * radius * np.cos(turn), 0.5 + 0.5 * radius * np.sin(turn)
    rings = [ring_of(*place) for place in zip(x, y, strict=True)]
    shares = np.diff((np.arange(9) / 8.0) ** 2)
    assert_distribution(np.bincount(rings, minlength=8), shares, what="light by rings of the stop")


@pytest.mark.parametrize("inside", [0.9, 0.5])
def test_filling_is_not_biased_by_few_photons_and_its_error_is_its_scatter(inside):
    truth = filled(even_stop(3_000_000, inside)).value
    found = [filled(even_stop(1500, inside, seed)) for seed in range(200)]
    values, errors = np.array([(one.value, one.error) for one in found]).T
    assert_coverage(values, errors, truth, odds=1e-4, what=f"filling of {inside} of the radius")


def test_filling_is_never_above_what_can_be():
    found = [filled(even_stop(2500, 1.0, seed)).value for seed in range(50)]
    assert max(found) == 1.0 > min(found)


def test_too_few_photons_say_nothing_of_the_stop():
    assert np.isnan(filled(np.zeros((4, 16, 16, 5), dtype=np.int64)).value)
    assert np.isnan(filled(even_stop(100, 1.0)).value)


def test_figures_of_zones_are_those_of_their_cells(view):
    zones = {zone.name: zone for zone in zones_of(view)}
    result = view.result
    assert zones["middle"].blur == result.estimate("blur_centre")
    assert zones["corners"].blur == result.estimate("blur_corner")
    assert zones["corners"].colour == result.estimate("lateral_colour")
    # By hand: the corner cells' mean offsets along their outward unit vectors.
    screen = result.tallies.batches["screen"].sum(axis=0)
    away = outward(result.optics.width_mm, result.optics.height_mm)
    along = (screen[2] * away[..., 0] + screen[3] * away[..., 1])[CORNERS].sum() / DIRECTION_SCALE
    expected = along / screen[0][CORNERS].sum() / view.pixel_mm
    assert zones["corners"].centroid_shift.value == pytest.approx(expected)
    assert zones["middle"].light.value > 1.0 > zones["corners"].light.value
    assert zones["corners"].distortion < -0.005, "this objective draws its corners in"


def test_light_is_spread_thinner_where_the_picture_is_drawn_out(view):
    """Relative light times the fields' area on the screen is the share of the photons."""
    counts = view.result.tallies.batches["cells"][:, 1].sum(axis=0)
    light, error = view.relative_light()
    corner = view.radii_mm[0, 0]
    # The area by hand: places r -> r s(r), by differences.
    step = 1e-4 * corner
    stretched = [(1.0 + view.distortion(r)) * r for r in (corner - step, corner + step)]
    growth = (stretched[1] - stretched[0]) / (2.0 * step) * (1.0 + view.distortion(corner))
    ratio = light[0, 0] / light[4, 4] * growth
    assert ratio == pytest.approx(counts[0, 0] / counts[4, 4], rel=1e-3)
    # The error of a ratio of sums by its linear form (Cochran, Sampling Techniques, section 2.11:
    # from memory); the jackknife's differs from it in the second order.
    batches = view.result.tallies.batches["cells"][:, 1].astype(float)
    batches = batches[: view.result.tallies.complete_batches]
    share = counts[4, 4] / counts.sum()
    off = batches[:, 4, 4] - share * batches.sum(axis=(1, 2))
    by_hand = np.sqrt(len(off) * off.var(ddof=1)) / batches[:, 4, 4].sum()
    assert error[4, 4] / light[4, 4] == pytest.approx(by_hand, rel=0.03)


def nested(places, half, weights=None):
    """Return counts [1, 5, 32, 32] of places [n, 2] in nested squares, by hand."""
    squares = np.zeros((1, 5, 32, 32))
    reach = np.abs(places).max(axis=1)
    for k in range(5):
        side = half / 2**k
        here = (reach < side) & ((reach >= 0.5 * side) | (k == 4))
        squares[0, k], *_ = np.histogram2d(
            places[here, 1],
            places[here, 0],
            bins=32,
            range=[(-side, side)] * 2,
            weights=None if weights is None else weights[here],
        )
    return squares


def spot_of(kind, radius_80, photons, seed):
    """Return places [n, 2] of a spot with a known radius, off its chief ray.

    Derived: a normal spot holds 80 % within sigma sqrt(-2 ln 0.2), an even disc within sqrt(0.8) of
    its radius.
    """
    rng = np.random.default_rng(seed)
    if kind == "normal":
        spot = rng.normal(0.0, radius_80 / np.sqrt(-2.0 * np.log(0.2)), (photons, 2))
    else:
        away = radius_80 / np.sqrt(0.8) * np.sqrt(rng.random(photons))
        turn = 2.0 * np.pi * rng.random(photons)
        spot = away[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=-1)
    return spot + radius_80 * np.array([0.3, 0.1])


@pytest.mark.parametrize("kind", ["normal", "disc"])
@pytest.mark.parametrize("radius", [0.02, 0.06, 0.14, 0.33])
def test_radius_80_of_spots_smaller_than_a_bin_and_larger(kind, radius):
    """The largest square has bins of 0.0625: a spot may be smaller than one."""
    places = spot_of(kind, radius, 1_000_000, 5)
    places = places[np.abs(places).max(axis=1) < 1.0]
    found = radius_80_mm(nested(places, 1.0), ONE, places.mean(axis=0)[None], ONE)
    assert found.value == pytest.approx(radius, rel=0.008)


@pytest.mark.parametrize("kind", ["normal", "disc"])
@pytest.mark.parametrize("photons", [100, 2000])
def test_radius_80_is_as_sure_as_it_says(kind, photons):
    found = []
    for seed in range(200):
        places = spot_of(kind, 0.14, photons, seed)
        mean = places.mean(axis=0)[None]
        found.append(radius_80_mm(nested(places, 1.0), ONE, mean, ONE))
    values, errors = np.array([(one.value, one.error) for one in found]).T
    assert_coverage(values, errors, 0.14, odds=1e-4, what=f"80 % radius of a {kind} spot")


@pytest.mark.parametrize(("kind", "moved"), [("normal", 0.5), ("disc", 1.0)])
def test_what_few_photons_do_to_a_mean_place_is_taken_off_by_the_shape_of_the_spot(kind, moved):
    """A million photons that count as n = 400, against as many that count as a million.

    Derived: each draws the mean of n along by 1 / n of its offset, so that the radius r would come
    out r / n too small. The mean's noise widens a normal spot to r sqrt(1 + 1 / n); across an even
    disc it carries nothing past r while that lies well within the edge.
    """
    places = spot_of(kind, 0.14, 1_000_000, 6)
    mean, squares = places.mean(axis=0)[None], nested(places, 1.0)
    few, many = (radius_80_mm(squares, ONE, mean, w * ONE).value for w in (2500.0, 1.0))
    assert few - many == pytest.approx(moved * 0.14 / 400, rel=0.1)


def test_spread_of_radius_80_and_rms_fit(view):
    """RMS and 80 % radius of one zone are of one size: a disc's are as 0.707 to 0.894."""
    for zone in zones_of(view):
        assert 0.6 < zone.blur.value / zone.radius_80.value < 1.3


def test_contrast_of_lines_by_a_point_and_by_a_slit(view):
    """A point of light keeps all contrast; a spot as wide as the pitch of the lines keeps none."""
    tallies = view.result.tallies
    kept = tallies.spots[4, 4].copy()
    pitch = view.halves_mm[4, 4] / view.pixel_mm
    try:
        tallies.spots[4, 4] = 0
        tallies.spots[4, 4, -1, 32, 32] = 1000
        sharp, _ = view.line_contrast(one_cell(4, 4), np.array([pitch]), "x")
        # Half the bins in a row are half the square, one pitch.
        tallies.spots[4, 4] = 0
        tallies.spots[4, 4, 0, 32, 16:48] = 1000
        across, _ = view.line_contrast(one_cell(4, 4), np.array([pitch]), "x")
        along, _ = view.line_contrast(one_cell(4, 4), np.array([pitch]), "y")
    finally:
        tallies.spots[4, 4] = kept
    assert sharp[0] == pytest.approx(1.0, abs=1e-5)
    assert across[0] == pytest.approx(0.0, abs=0.01)
    # Each bin is a 32nd of the pitch wide: sinc(1/32).
    assert along[0] == pytest.approx(0.9984, abs=1e-4)


def test_colour_of_a_scene_in_one_colour_is_unknown():
    plain = trace(scene("f"), photons=30_000)
    assert np.isnan(plain.estimate("lateral_colour").value)
    assert np.isnan(blur.colour_px(plain.samples.total, plain.optics, MIDDLE)).all()
