"""Ideal lens: it images its conjugates without aberration, keeps étendue, and works backwards."""

import math

import numpy as np
import pytest

from photonsim.kernel.ideal_lens import cross
from photonsim.kernel.photon import GOES_ON, Photon
from photonsim.program import build_program
from photonsim.scene import parse_scene
from photonsim.scene.ideal_lens import IdealLens
from tests.physics.tracing import box, emitter, stop, target

NO_DRAW = np.uint64(0)
POINTS = [(0.0, 0.0), (3.0, 0.0), (0.0, -40.0), (25.0, 31.0), (-60.0, 5.0)]


def lens_cross(focal, object_mm, x, y, u, v, w=1.0):
    """Direction (u, v, w) behind a lens, or None; `w` only gives the sign."""
    conjugate = "" if object_mm is None else f"object_mm = {object_mm}\n"
    lens = (
        f'[train.lens]\nkind = "ideal_lens"\nz_mm = 20.0\nfocal_mm = {focal}\n'
        f"diameter_mm = 500.0\n{conjugate}"
    )
    text = box(50.0, 5.0) + emitter() + target(10.0, 50.0) + lens + stop(30.0, 10.0)
    program = build_program(parse_scene(text))
    layer = int(np.flatnonzero(program.layer_z == 20.0)[0])
    upright = math.copysign(math.sqrt(1.0 - u * u - v * v), w)
    photon = Photon(x, y, 20.0, u, v, upright, NO_DRAW, None)
    fate, photon = cross(program, layer, 0, photon)
    return (photon.u, photon.v, photon.w) if fate == GOES_ON else None


@pytest.mark.parametrize(
    ("focal", "object_mm", "image_mm"),
    [
        (200, 210, 4200),
        (100, 200, 200),
        (100, 60, -150),
        (-100, 100, -50),
        (100, 100, None),
        (100, None, 100),
        (-80, None, -80),
    ],
)
def test_conjugates(focal, object_mm, image_mm):
    # 1/a + 1/b = 1/f (Hecht, Optics, section 5.2); f = 200, s = 210 gives 4200 (check-values
    # section 6): exact.
    lens = IdealLens.model_construct(
        focal_mm=float(focal), object_mm=None if object_mm is None else float(object_mm)
    )
    found = lens.conjugates_mm
    assert found[0] == object_mm
    assert found[1] == (image_mm and pytest.approx(image_mm, rel=1e-12))


@pytest.mark.parametrize(
    ("focal", "object_mm"), [(200, 210), (100, 200), (100, 60), (-100, 100), (60, 70)]
)
@pytest.mark.parametrize(("x", "y"), POINTS)
def test_axis_point_is_imaged_to_its_conjugate(focal, object_mm, x, y):
    # Derived from the definition: every ray from (0, 0, -a) meets the axis at b, at any angle.
    image_mm = 1.0 / (1.0 / focal - 1.0 / object_mm)
    far = math.sqrt(x * x + y * y + object_mm**2)
    u, v, w = lens_cross(focal, object_mm, x, y, x / far, y / far)
    assert x + image_mm * u / w == pytest.approx(0.0, abs=1e-10)
    assert y + image_mm * v / w == pytest.approx(0.0, abs=1e-10)


@pytest.mark.parametrize(("x", "y"), POINTS)
@pytest.mark.parametrize("focal", [100.0, -80.0])
def test_parallel_light_goes_through_the_focus(focal, x, y):
    u, v, w = lens_cross(focal, None, x, y, 0.0, 0.0)
    assert x + focal * u / w == pytest.approx(0.0, abs=1e-11)
    assert y + focal * v / w == pytest.approx(0.0, abs=1e-11)


@pytest.mark.parametrize(("x", "y"), POINTS)
def test_light_from_the_focus_becomes_parallel(x, y):
    far = math.sqrt(x * x + y * y + 100.0**2)
    u, v, w = lens_cross(100.0, 100.0, x, y, x / far, y / far)
    assert (u, v, w) == pytest.approx((0.0, 0.0, 1.0), abs=1e-14)


def test_paraxial_magnification():
    # A point 0.01 mm off the axis is imaged m = -s'/s times as far off (Hecht, section 5.2), near
    # enough for rays that stay near the axis.
    for x in (-0.5, 0.0, 0.5):
        slope = (x - 0.01) / 150.0
        u, _, w = lens_cross(100.0, 150.0, x, 0.0, slope / math.hypot(1.0, slope), 0.0)
        assert x + 300.0 * u / w == pytest.approx(-0.02, abs=1e-6)


STATES = [(10.0, -20.0, 0.1, 0.3), (60.0, 5.0, -0.2, 0.0), (-3.0, 40.0, 0.5, -0.4)]


@pytest.mark.parametrize(("focal", "object_mm"), [(100.0, None), (100.0, 150.0), (-70.0, 90.0)])
@pytest.mark.parametrize("state", STATES)
def test_etendue(focal, object_mm, state):
    # Liouville: the map of (x, y, u, v) keeps volume, and more: it is symplectic, J' W J = W
    # (Born and Wolf, chapter 4; from memory). J by central differences.
    jacobian = np.empty((4, 4))
    for column, step in enumerate((1e-3, 1e-3, 1e-5, 1e-5)):
        images = []
        for sign in (1.0, -1.0):
            moved = np.array(state)
            moved[column] += sign * step
            u, v, _ = lens_cross(focal, object_mm, *moved)
            images.append([moved[0], moved[1], u, v])
        jacobian[:, column] = (np.array(images[0]) - images[1]) / (2.0 * step)
    assert np.linalg.det(jacobian) == pytest.approx(1.0, abs=1e-9)
    form = np.block([[np.zeros((2, 2)), np.eye(2)], [-np.eye(2), np.zeros((2, 2))]])
    assert np.abs(jacobian.T @ form @ jacobian - form).max() < 1e-9


@pytest.mark.parametrize(("focal", "object_mm"), [(100.0, None), (100.0, 150.0), (-70.0, 90.0)])
@pytest.mark.parametrize("state", STATES)
def test_the_way_back_is_the_way(focal, object_mm, state):
    # Reversibility of rays: what leaves, sent back, comes out as it came in, reversed.
    x, y, u, v = state
    out = lens_cross(focal, object_mm, x, y, u, v)
    back = lens_cross(focal, object_mm, x, y, -out[0], -out[1], w=-1.0)
    expected = (-u, -v, -math.sqrt(1.0 - u * u - v * v))
    assert back == pytest.approx(expected, abs=1e-14)


def test_a_kick_past_a_right_angle_ends_the_photon():
    assert lens_cross(10.0, None, 200.0, 0.0, -0.2, 0.0) is None
