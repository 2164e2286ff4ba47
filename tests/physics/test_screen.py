"""Screen: blur from photons against spots traced without chance, focus, centroid shift, ledger."""

import math

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.results import load_result, screen_of
from photonsim.results.picture.stop import trade_off
from photonsim.scene import parse_scene
from tests import shipped
from tests.chance import assert_fits
from tests.physics.lens_scenes import SQUARE_PANEL, real_lens

PANEL_Z, STOP_Z, HOLE = 45.0, 145.0, 30.0
# An even Lambertian face just below the panel, wider than any ray to the stop can tell.
LAMP = f"""
[housing]
width_mm = 40.0
height_mm = 40.0
depth_mm = 45.0

[emitters.face]
width_mm = 26.0
height_mm = 26.0
z_mm = 36.0
flux_lm = 100.0
reflectance = 0.0

{SQUARE_PANEL}
[train.stop]
kind = "aperture_stop"
z_mm = {STOP_Z}
diameter_mm = {HOLE}
"""
LENS = real_lens(
    "lens", 147.0, 10.0, 60.0, 120.0, -90.0, index=1.5, conic_screen=-0.5, coating_reflectance=0.0
)
SCREEN = "[screen]\ndistance_mm = {}\n"
PHOTONS = 1_500_000


def through_lens(x, y, u, v, w, screen_z):
    """Independent trace of whole arrays: Newton's method on the sag, Snell as n x (d x n)."""
    place = np.stack([x, y, np.full_like(x, PANEL_Z)])
    way = np.stack([u, v, w])
    for vertex, radius, conic, eta in ((147.0, 120.0, 0.0, 1 / 1.5), (157.0, -90.0, -0.5, 1.5)):
        c = 1.0 / radius
        place = place + (vertex - place[2]) / way[2] * way
        for _ in range(12):
            r2 = place[0] ** 2 + place[1] ** 2
            sag = c * r2 / (1.0 + np.sqrt(1.0 - (1.0 + conic) * c * c * r2))
            place = place + (vertex + sag - place[2]) / way[2] * way
        root = np.sqrt(1.0 - (1.0 + conic) * c * c * (place[0] ** 2 + place[1] ** 2))
        unit = np.stack([-c * place[0] / root, -c * place[1] / root, np.ones_like(x)])
        unit /= np.sqrt((unit**2).sum(axis=0))
        across = eta * np.cross(unit, np.cross(way, unit, axis=0), axis=0)
        way = across + np.sqrt(1.0 - (across**2).sum(axis=0)) * unit
    return place[:2] + (screen_z - place[2]) / way[2] * way[:2]


def spots_without_chance(scene, magnification, screen_z, points=5, across=41):
    """Return RMS spot [9, 9] in pixels about the cell's mean, for an evenly filled stop."""
    edge = 20.0 / 9.0
    inner = (np.arange(points) + 0.5) / points - 0.5
    steps = (np.arange(across) + 0.5) / across * 2.0 - 1.0
    found = np.zeros((9, 9))
    for i, j in np.ndindex(9, 9):
        px, py, hx, hy = np.meshgrid(
            (j - 4 + inner) * edge, (i - 4 + inner) * edge, steps, steps, indexing="ij"
        )
        px, py, hx, hy = (a.ravel() for a in (px, py, hx, hy))
        far = STOP_Z - PANEL_Z
        # Even in the stop's plane: light per hole area goes as cos**4 of the way there.
        keep = hx**2 + hy**2 < 1.0
        px, py = px[keep], py[keep]
        a, b = 0.5 * HOLE * hx[keep] - px, 0.5 * HOLE * hy[keep] - py
        w = far / np.sqrt(a * a + b * b + far * far)
        x, y = through_lens(px, py, a / far * w, b / far * w, w, screen_z) / magnification
        off_x, off_y, light = x - px, y - py, w**4
        mean = [np.average(off, weights=light) for off in (off_x, off_y)]
        squared = np.average((off_x - mean[0]) ** 2 + (off_y - mean[1]) ** 2, weights=light)
        found[i, j] = math.sqrt(squared) / scene_pixel(scene)
    return found


def scene_pixel(scene):
    return scene.panel.active_width_mm / scene.panel.columns


@pytest.fixture(scope="module")
def traced():
    scene = parse_scene(LAMP + LENS + SCREEN.format(1500.0))
    return trace(scene, photons=PHOTONS, seed=3)


def test_blur_from_photons_agrees_with_spots_without_chance(traced):
    """Derived: all 81 cells by chi-square. test_objectives.py does the same for shipped lenses."""
    view = screen_of(traced)
    found, error = view.blur_px()
    projection = traced.scene.projection
    expected = spots_without_chance(traced.scene, projection.magnification, projection.screen_mm)
    # The panel's 9 x 9 cells see distortion within themselves, which only the photons' reference,
    # the chief ray, takes out: of the order of a hundredth of a pixel here.
    assert_fits(found, expected, np.hypot(error, 0.01), what="blur by field in pixels")
    whole = traced.estimate("blur")
    assert whole.value == pytest.approx(
        math.sqrt(np.average(expected**2, weights=view.result.samples.total.screen[0, 0])),
        abs=5.0 * whole.error,
    )


def test_screen_sums_agree_with_each_other(traced):
    collected = traced.tallies.batches["collected"].sum()
    screen = traced.tallies.batches["screen"].sum(axis=0)
    assert screen[:2].sum() == collected == traced.tallies.batches["fates"][:, 0].sum()
    assert traced.tallies.spots.sum() == screen[0].sum() == traced.tallies.stop_sums[..., 0].sum()
    assert traced.tallies.batches["colours"][:, :, 0].sum() == screen[0].sum()
    np.testing.assert_array_equal(traced.tallies.stop_sums[..., 1].sum(axis=(2, 3)), screen[2])
    assert screen[1].sum() < 1e-3 * collected, "no glass reflects here: nothing strays"


def test_focus_found_from_one_run_is_the_focus_of_another(traced):
    view = screen_of(traced)
    moved = view.best_focus_mm()
    assert moved.error < 40.0
    distance = 1500.0 + moved.value
    there = trace(parse_scene(LAMP + LENS + SCREEN.format(distance)), photons=PHOTONS // 3, seed=3)
    again = screen_of(there).best_focus_mm()
    assert abs(again.value) < 5.0 * math.hypot(again.error, moved.error)
    blur = there.estimate("blur")
    at_best = view.blur_at_best_focus_px()
    assert at_best.value == pytest.approx(blur.value, abs=6.0 * blur.error + 0.01)


def test_smaller_stop_is_what_the_trade_off_says(traced):
    point = next(p for p in trade_off(traced) if p.diameter_mm == 15.0)
    text = (LAMP + LENS + SCREEN.format(1500.0)).replace(
        f"diameter_mm = {HOLE}\n", "diameter_mm = 15.0\n"
    )
    small = trace(parse_scene(text), photons=PHOTONS, seed=4)
    share = small.estimate("collected_lm").value / traced.estimate("collected_lm").value
    # Both lamps by the binomial law, on the safe side (DEVELOPERS.md, Chance).
    chance = math.sqrt(share * (1.0 - share) / traced.tallies.batches["collected"].sum())
    assert_fits(point.light.value, share, math.hypot(point.light.error, chance), what="light left")
    blur = small.estimate("blur")
    error = math.hypot(point.whole_px.error, blur.error)
    assert_fits(point.whole_px.value, blur.value, error, what="blur of a smaller stop")


@pytest.mark.parametrize("ring", [3, 5])
@pytest.mark.parametrize("lamp", ["f", "h"])
def test_a_smaller_stop_passes_just_the_photons_that_were_counted_in_its_rings(lamp, ring):
    """Photon by photon: the same luck, with a smaller hole. Both lamps have glass that reflects."""
    whole = shipped.scene(lamp)
    diameter = whole.stop.diameter_mm * ring / 8
    small = whole.with_numbers({"train.stop.diameter_mm": diameter})
    photons = 1 << 19
    with_whole = trace(whole, photons, seed=8)
    rings = with_whole.tallies.batches["rings"][:, :ring].sum(axis=1)
    with_small = trace(small, photons, seed=8, guide=with_whole)
    of_small = with_small.tallies.batches["rings"].sum(axis=1)
    np.testing.assert_array_equal(of_small, rings)
    assert rings[:, -1].sum() > 20, "some of it is stray"


def test_result_file_keeps_the_screen(traced, tmp_path):
    traced.save(tmp_path / "lamp.h5")
    again = load_result(tmp_path / "lamp.h5")
    np.testing.assert_array_equal(again.tallies.spots, traced.tallies.spots)
    np.testing.assert_array_equal(screen_of(again).blur_px()[0], screen_of(traced).blur_px()[0])


def test_ideal_lens_in_its_conjugates_is_sharp_in_the_middle():
    """A phase element images its own conjugates without aberration on the axis."""
    lens = """
[train.lens]
kind = "ideal_lens"
z_mm = 145.0
focal_mm = 90.0
object_mm = 100.0
diameter_mm = 60.0

"""
    text = LAMP.replace(f"z_mm = {STOP_Z}", "z_mm = 144.0") + lens + "[screen]\n"
    result = trace(parse_scene(text), photons=300_000, seed=5)
    view = screen_of(result)
    assert view.projection.screen_mm == pytest.approx(145.0 + 900.0)
    assert view.projection.magnification == pytest.approx(-9.0)
    assert result.estimate("blur_centre").value < 0.2
