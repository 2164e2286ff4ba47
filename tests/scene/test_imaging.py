"""First-order data of lenses against printed examples and published ones."""

import math

import pytest

from photonsim.scene import Bend, cardinal_of, follow, load_scene
from tests.physics.lens_scenes import (
    PLANO,
    TRIPLET,
    real_lens,
    scene_with,
    triplet_at,
)


def lens_data(text: str):
    return cardinal_of(scene_with(text).bends())


def test_printed_triplet():
    """W. J. Smith, Modern Optical Engineering, 4th ed., p. 119: EFL, BFL and Petzval ratio."""
    found = lens_data(triplet_at(200.0))
    assert found.focal_mm == pytest.approx(101.181, abs=5e-4)
    assert found.back_focus_mm - 239.08 == pytest.approx(77.405, abs=5e-4)
    assert found.petzval_mm / found.focal_mm == pytest.approx(-2.935, abs=5e-4)


def test_every_printed_height_and_slope_of_the_axial_ray_in_the_triplet():
    """Same book, Table 6.1; the last two rows are derived with the printed prescription."""
    bends = scene_with(triplet_at(200.0)).bends()
    rows = [
        (14.600000, -0.148315),
        (13.724943, -0.263817),
        (10.313791, -0.065055),
        (10.151154, 0.073436),
        (11.021375, 0.025062),
        (11.169239, -0.144295),
    ]
    for k, (height, slope) in enumerate(rows):
        found = follow(14.6, 0.0, 190.0, bends[k].z_mm, bends[: k + 1])
        assert found == pytest.approx((height, slope), abs=1.5e-6), k
    at_stop = follow(14.6, 0.0, 190.0, 200.0 + 23.33, bends[:4])
    assert at_stop == pytest.approx((10.298026, 0.073436), abs=1.5e-6)
    assert TRIPLET.heights[-1] == 39.08


def test_printed_chief_ray_of_the_triplet():
    """Same book, Table 6.1: it starts at y = -6.411174, u = 0.21; field 11.860 degrees, and
    p. 119: image height 21.248."""
    bends = scene_with(triplet_at(200.0)).bends()
    start = (-6.411174, 0.21, bends[0].z_mm)
    at_stop, _ = follow(*start, 200.0 + 23.33, bends[:4])
    assert at_stop == pytest.approx(0.0, abs=2e-6)
    image, _ = follow(*start, 239.08 + 77.40535, bends)
    assert image == pytest.approx(21.248, abs=5e-4)
    assert math.degrees(math.atan(0.21)) == pytest.approx(11.860, abs=5e-4)


def test_printed_doublet_with_a_cemented_face():
    """Example 3.1, W. J. Smith, pp. 41-43: l = -300, h = 20; l' = 199.6846, h' = -14.0187."""
    text = real_lens("crown", 300.0, 10.0, 30.0, 50.0, -50.0, index=1.5)
    text += real_lens("flint", 310.0, 2.0, 30.0, -50.0, None, index=1.6)
    bends = scene_with(text).bends()
    assert [bend.z_mm for bend in bends] == [300.0, 310.0, 312.0]
    height, slope = follow(0.0, 1.0, 0.0, 312.0, bends)
    image = 312.0 - height / slope
    assert image - 312.0 == pytest.approx(199.6846, abs=5e-5)
    assert follow(20.0, 0.0, 0.0, image, bends)[0] == pytest.approx(-14.0187, abs=5e-5)


@pytest.mark.parametrize(
    ("radii", "thickness", "index", "focal", "tolerance"),
    [
        # W. J. Smith, p. 52, exercise: efl 101.6949.
        ((100.0, -100.0), 10.0, 1.5, 101.6949, 5e-5),
        # University course notes OPTI 201R, Fall 2010, p. 20-2: 75.57.
        ((77.265, -77.265), 5.102, 1.517, 75.57, 6e-3),
        # A thick biconcave lens: -47.619 (university optics assignment, check-values 7a).
        ((-50.0, 50.0), 15.0, 1.5, -47.619, 5e-4),
        # Hecht, Optics, problem 6.12 (statement printed, answer computed): 6.792 cm.
        ((40.0, -150.0), 40.0, 1.5, 67.92, 6e-3),
        # Hecht, section 6.1 example, from memory: 26.8 cm.
        ((200.0, -400.0), 10.0, 1.5, 268.0, 0.5),
    ],
)
def test_printed_focal_lengths(radii, thickness, index, focal, tolerance):
    text = real_lens("lens", 200.0, thickness, 20.0, *radii, index=index)
    found = lens_data(text)
    assert found.focal_mm == pytest.approx(focal, abs=tolerance)
    first, second = radii
    # 1/f = (n - 1)(1/R1 - 1/R2 + (n - 1) t / (n R1 R2)) (Smith, eq. 3.21).
    power = (index - 1.0) * (
        1.0 / first - 1.0 / second + (index - 1.0) * thickness / (index * first * second)
    )
    assert found.focal_mm == pytest.approx(1.0 / power, rel=1e-12)


def test_principal_planes_of_the_printed_biconvex_lens():
    """Hecht, section 6.1 example, from memory: h1 = 0.22 cm, h2 = -0.44 cm, image at 238 cm."""
    found = lens_data(real_lens("lens", 400.0, 10.0, 20.0, 200.0, -400.0, index=1.5))
    assert found.front_principal_mm - 400.0 == pytest.approx(2.2, abs=0.05)
    assert found.back_principal_mm - 410.0 == pytest.approx(-4.4, abs=0.1)
    # The object stands 30 cm before the vertex, the image is counted from the principal plane.
    near = 300.0 + found.front_principal_mm - 400.0
    far = 1.0 / (1.0 / found.focal_mm - 1.0 / near)
    assert far == pytest.approx(2380.0, abs=5.0)


def test_bfl_of_a_plano_convex_lens():
    """n = 1.5168, R = 51.68, t = 5: 96.703586 with the convex side first (derived)."""
    assert lens_data(PLANO["convex"]).back_focus_mm - 205.0 == pytest.approx(96.703586, abs=1e-6)
    assert lens_data(PLANO["plane"]).back_focus_mm - 205.0 == pytest.approx(100.0, abs=1e-4)


def test_thin_lens_conjugates():
    """f = 200, s = 210: s' = 4200, m = -20 (identity)."""
    bends = [Bend(210.0, 1.0 / 200.0, 1.0, "thin")]
    height, slope = follow(0.0, 1.0, 0.0, 210.0, bends)
    assert -height / slope == pytest.approx(4200.0)
    assert follow(1.0, 0.0, 0.0, 4410.0, bends)[0] == pytest.approx(-20.0)


def test_screen_stands_in_focus_unless_told_otherwise(tmp_path):
    scene = scene_with(
        """
[train.objective]
kind = "ideal_lens"
z_mm = 100.0
focal_mm = 50.0
diameter_mm = 40.0

[screen]
"""
    )
    found = scene.projection
    # 1/55 + 1/b = 1/50: b = 550, m = -10.
    assert found.screen_mm == found.focus_mm == pytest.approx(650.0)
    assert found.magnification == pytest.approx(-10.0)
    near = scene.model_copy(
        update={"screen": scene.screen.model_copy(update={"picture_width_mm": 150.0})}
    )
    moved = near.projection
    assert moved.magnification == pytest.approx(-5.0)
    assert moved.screen_mm < moved.focus_mm and math.isfinite(moved.screen_mm)


def test_no_screen_no_projection():
    scene = load_scene("tests/scene/backdrop.toml")
    assert scene.projection is None
