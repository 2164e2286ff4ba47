"""Objectives: spots of the shipped ones without chance, light off the axis, lateral colour."""

import math

import numpy as np
import pytest
from scipy import stats

from photonsim.engine import trace
from photonsim.results import screen_of
from photonsim.results.panel.field import CORNERS, ZONES, outward
from photonsim.results.tallies import DIRECTION_SCALE
from photonsim.scene import parse_scene
from photonsim.summary.brightness import brightness_of
from tests.chance import assert_fits, assert_mean
from tests.physics.bundles import chief_cosines, through
from tests.physics.lens_scenes import SQUARE_PANEL, real_lens
from tests.physics.view_factors import element_to_disc
from tests.shipped import SCENES

NM = 550.0
CELLS = 9
# An even Lambertian face below the panel, as wide as the housing.
FACE = """
[housing]
width_mm = {width}
height_mm = {height}
depth_mm = {depth}

[emitters.face]
width_mm = {width}
height_mm = {height}
z_mm = {z}
flux_lm = 900.0
reflectance = 0.0

"""


def evenly_lit(stem):
    """A shipped scene from the panel on, over an even face; its glass does not reflect."""
    text = next(path for path in SCENES if path.stem.startswith(stem)).read_text("utf-8")
    text = text[text.index("[train.panel]") :]
    before, _, screen = text.partition("[screen]")
    text = before.partition("[light]")[0] + "[screen]" + screen.partition("[supply]")[0]
    text = text.replace('kind = "real_lens"', 'kind = "real_lens"\ncoating_reflectance = 0.0')
    return parse_scene(FACE.format(width=108.0, height=70.0, depth=45.0, z=44.5) + text)


def spots(scene, across=33):
    """Return (RMS [9, 9], outward mean [9, 9]) of the spots in pixels, the stop filled evenly.

    Direction cosines on a square grid about the chief ray, shifted at random for every panel point
    so that the rim of the stop is not met in the same place twice; Gauss's two points either way
    within a field. Round optics: a quarter of the panel stands for all four.
    """
    projection = scene.projection
    panel, rng = scene.panel, np.random.default_rng(5)
    pixel = panel.active_width_mm / panel.columns
    inner = np.array([-0.5, 0.5]) / math.sqrt(3.0)
    steps = (np.arange(across) + 0.5) / across * 2.0 - 1.0
    reach = 0.75 * scene.stop.diameter_mm / (scene.stop.z_mm - panel.z_mm)
    rms, centroid = np.zeros((CELLS, CELLS)), np.zeros((CELLS, CELLS))
    for i, j in np.ndindex(5, 5):
        x = (j - 4 + inner) / CELLS * panel.active_width_mm
        y = (i - 4 + inner) / CELLS * panel.active_height_mm
        points = np.stack([a.ravel() for a in np.meshgrid(x, y)])
        chief = chief_cosines(scene, points, NM)
        place = through(scene, points, chief, NM, projection.screen_mm).screen
        shift = rng.uniform(-1.0, 1.0, (2, points.shape[1], 1)) / across
        grid = np.stack([a.ravel() for a in np.meshgrid(steps, steps)])[:, None, :] + shift
        rays = (chief[:, :, None] + reach * grid).reshape(2, -1)
        many = np.repeat(points, across * across, axis=1)
        landed = through(scene, many, rays, NM, projection.screen_mm)
        off = (landed.screen - np.repeat(place, across * across, axis=1))[:, landed.passed]
        off /= projection.magnification * pixel
        mean = off.mean(axis=1)
        away = outward(panel.active_width_mm, panel.active_height_mm)[i, j]
        block = np.ix_((i, 8 - i), (j, 8 - j))
        rms[block] = math.sqrt(((off - mean[:, None]) ** 2).sum(axis=0).mean())
        centroid[block] = mean @ away
    return rms, centroid


@pytest.mark.parametrize("stem", ["d", "g", "h"])
def test_spots_of_shipped_objectives_are_those_without_chance(stem):
    """Derived, for a stop filled evenly: two plano-convex lenses, a magnifier, an anastigmat.

    The blur of all 81 fields by chi-square, and the mean place in each zone.
    """
    scene = evenly_lit(stem)
    result = trace(scene, photons=3_000_000, seed=2)
    found, error = screen_of(result).blur_px()
    rms, shift = spots(scene)
    # Of the random grid: 0.5 % of a field's spot, measured with four times the rays.
    assert_fits(found, rms, np.hypot(error, 0.005 * rms), what=f"blur of {stem} in pixels")
    screen = result.tallies.batches["screen"].astype(float)
    away = outward(scene.panel.active_width_mm, scene.panel.active_height_mm)
    along = (screen[:, 2] * away[..., 0] + screen[:, 3] * away[..., 1]) / DIRECTION_SCALE
    pixel = scene.panel.active_width_mm / scene.panel.columns
    for name, cells in ZONES.items():
        if name == "middle":  # next to nothing shifts there
            continue
        light = screen[:, 0][:, cells]
        values = (along[:, cells] / pixel).sum(axis=1) / light.sum(axis=1).mean()
        # Batches hold more light or less: that goes with the shift.
        values -= (light.sum(axis=1) / light.sum(axis=1).mean() - 1.0) * values.mean()
        expected = np.average(shift[cells], weights=light.sum(axis=0))
        known = 0.005 * rms[cells].mean()
        assert_mean(values, float(expected), known_to=known, what=f"shift of {stem}, {name}")


WIDE = """
[train.panel]
kind = "panel"
z_mm = 45.0
columns = 90
rows = 90
active_width_mm = 100.0
active_height_mm = 100.0
outer_width_mm = 100.0
outer_height_mm = 100.0
thickness_mm = 0.0
transmittance = 0.5

[train.lens]
kind = "ideal_lens"
z_mm = 145.0
focal_mm = 50.0
object_mm = 100.0
diameter_mm = 120.0
transmittance = 0.8

[train.stop]
kind = "aperture_stop"
z_mm = 145.001
diameter_mm = 60.0

[screen]
distance_mm = 99.999
"""


def factors_by_cell(distance, radius, side, fine=8):
    """Return the mean configuration factor [9, 9] of the stop from each cell of a square panel."""
    places = ((np.arange(CELLS * fine) + 0.5) / (CELLS * fine) - 0.5) * side
    away = np.hypot(*np.meshgrid(places, places))
    factors = element_to_disc(radius, distance, away)
    return factors.reshape(CELLS, fine, CELLS, fine).mean(axis=(1, 3))


@pytest.fixture(scope="module", params=["auto", "off"])
def wide(request):
    """A lens at twice its focal length from panel and screen: both cones are 16.7 degrees."""
    text = FACE.format(width=110.0, height=110.0, depth=45.0, z=44.9) + WIDE
    return trace(parse_scene(text), photons=1 << 23, seed=1, guide=request.param)


def test_light_off_the_axis_through_an_objective_follows_foote(wide):
    """Published: P. Foote (1915) in W. J. Smith, Modern Optical Engineering, p. 262.

    The stop seen from the panel at up to 35 degrees; cos^4, for small stops, is told apart.
    """
    tallies = wide.tallies
    shares = tallies.batches["cells"][:, 1] / (tallies.batch_photons * tallies.counts_per_photon)
    found, error = shares.mean(axis=0), stats.sem(shares)
    of_a_cell = (100.0 / 110.0 / CELLS) ** 2
    factors = factors_by_cell(100.0, 30.0, 100.0)
    assert_fits(found, factors * of_a_cell, error, what="light by cell, Foote")
    places = ((np.arange(72) + 0.5) / 72 - 0.5) * 100.0
    cos4 = (1.0 + (places[:, None] ** 2 + places[None, :] ** 2) / 1e4) ** -2
    cos4 = cos4.reshape(CELLS, 8, CELLS, 8).mean(axis=(1, 3))
    with pytest.raises(AssertionError, match="expected chi-square"):
        assert_fits(found, cos4 * found.sum() / cos4.sum(), error, what="light by cell, cos^4")


def test_illuminance_of_the_image_is_the_printed_formula(wide):
    """Published: E = pi T B sin**2 theta (W. J. Smith, Modern Optical Engineering, p. 275).

    On the axis of a lens at one to one; B is that of the face, 900 lm over pi times 110 x 110 mm.
    """
    found = brightness_of(wide)
    luminance = 900.0 / (math.pi * 0.11 * 0.11)
    expected = math.pi * 0.5 * 0.8 * luminance * math.sin(math.atan(30.0 / 100.0)) ** 2
    # The middle cell is 11 mm wide: its mean is a little less than its middle.
    expected *= factors_by_cell(100.0, 30.0, 100.0)[4, 4] / element_to_disc(30.0, 100.0, 0.0)
    middle = wide.tallies.batches["cells"][:, 1, 4, 4]
    # At one to one lux on the panel are lux on the screen, but for the transmittances.
    assert (found.width_mm, found.height_mm) == pytest.approx((100.0, 100.0))
    lux = wide.nine_points()[1, 1] * wide.optics.transmittance
    per_batch = middle / middle.mean() * lux
    assert_mean(per_batch, float(expected), what="lux in the middle of the image")


STOP_Z, LENS_Z, SCREEN_Z, ABBE = 145.0, 165.0, 405.0, 36.4
FAR_STOP = f"""
{SQUARE_PANEL}
[train.stop]
kind = "aperture_stop"
z_mm = {STOP_Z}
diameter_mm = 14.0

{
    real_lens(
        "lens", LENS_Z - 1.0, 2.0, 24.0, 99.0, -99.0, index=1.62, abbe=ABBE, coating_reflectance=0.0
    )
}
[screen]
distance_mm = {SCREEN_Z - LENS_Z - 1.0}

[light]
wavelengths_nm = [486.13, 587.56, 656.27]
"""


def red_outside_blue(scene, radii, across):
    """Return how far red lands outside blue for panel radii [n], in mm on the panel's scale.

    Without chance: the mean over a grid of so many rays across the stop, 1 for the chief ray alone.
    """
    projection = scene.projection
    points = np.stack([radii, np.zeros_like(radii)])
    chief = chief_cosines(scene, points, 587.56)
    steps = (np.arange(across) + 0.5) / across * 2.0 - 1.0
    grid = np.stack([a.ravel() for a in np.meshgrid(steps, steps)])[:, None, :]
    reach = 0.6 * scene.stop.diameter_mm / (scene.stop.z_mm - scene.panel.z_mm)
    rays = (chief[:, :, None] + reach * grid).reshape(2, -1)
    many = np.repeat(points, across * across, axis=1)
    means = []
    for nm in (656.27, 486.13):
        landed = through(scene, many, rays, nm, projection.screen_mm)
        x = np.where(landed.passed, landed.screen[0], np.nan).reshape(len(radii), -1)
        means.append(np.nanmean(x, axis=1) / projection.magnification)
    return means[0] - means[1]


def test_lateral_colour_of_a_thin_lens_away_from_its_stop():
    """Derived: a chief ray at height y on a thin lens of power P is bent by y P; from F to C that
    changes by y P / V, and so the place on a screen at b by b y P / V (thin-lens chromatic
    contributions with the stop away: W. J. Smith, Modern Optical Engineering, ch. 6; from memory).
    """
    text = FACE.format(width=26.0, height=26.0, depth=45.0, z=44.9) + FAR_STOP
    scene = parse_scene(text)
    result = trace(scene, photons=6_000_000, seed=6)
    view = screen_of(result)
    # Its principal planes lie t / 2 n to either side of the lens's middle.
    power, plane = 0.62 * 2.0 / 99.0, 1.0 / 1.62
    height = -(LENS_Z - plane - STOP_Z) / (STOP_Z - 45.0)
    # Red is bent less than blue by y P / V; per mm of the panel's radius, on the panel's scale:
    per_mm = (SCREEN_Z - LENS_Z - plane) * height * power / ABBE / view.projection.magnification
    radii = view.radii_mm
    near = np.array([1.0, 3.0, 6.0])
    np.testing.assert_allclose(red_outside_blue(scene, near, 1), per_mm * near, rtol=0.02)
    colours = result.tallies.batches["colours"].astype(float)
    away = outward(20.0, 20.0)
    along = (colours[:, :, 1] * away[..., 0] + colours[:, :, 2] * away[..., 1]) / DIRECTION_SCALE
    mean = along.sum(axis=(2, 3)) / colours[:, :, 0].sum(axis=(2, 3))
    light = colours[:, :, 0].sum(axis=(0, 1))
    expected = red_outside_blue(scene, radii.ravel(), 41).reshape(CELLS, CELLS)
    assert expected[CORNERS].mean() == pytest.approx(per_mm * radii[CORNERS].mean(), rel=0.06)
    everywhere = float(np.average(expected, weights=light))
    assert_mean(mean[:, 2] - mean[:, 0], everywhere, what="mm from blue to red")
    corner = result.estimate("lateral_colour")
    assert corner.value * view.pixel_mm == pytest.approx(
        expected[CORNERS].mean(), abs=5.0 * corner.error * view.pixel_mm
    )
    assert corner.error < 0.3 * corner.value
    found, error = view.colour_px()
    off_axis = error > 0.0
    assert_fits(
        found[off_axis], expected[off_axis] / view.pixel_mm, error[off_axis],
        what="pixels from blue to red, by field",
    )  # fmt: skip
