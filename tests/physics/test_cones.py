"""Light that a stop accepts from a small source: Lambert, cos^m, and the cosine-fourth law."""

import math

import pytest

from tests.chance import assert_proportion
from tests.physics.tracing import box, emitter, stop, target, trace

PHOTONS = 640_000
CONE = "diameter_mm = 1e-3"


def accepted(half_angle, **settings):
    """How much of a small source's light goes through a hole of that half-angle, in degrees."""
    distance = 100.0
    traced = trace(
        box(50.0, 0.1)
        + emitter(CONE, **settings)
        + target(10.0, 1000.0)
        + stop(distance, 2.0 * distance * math.tan(math.radians(half_angle))),
        PHOTONS,
    )
    return traced.through_stop, traced.photons


@pytest.mark.parametrize(
    ("f_number", "share"), [(2.8, 0.03090), (4.0, 0.015385), (5.6, 0.007909), (8.0, 0.003891)]
)
def test_cone_of_an_f_number(f_number, share):
    # sin(t)**2 of Lambert's light, tan t = 1/(2 N): identity (check-values section 6; the étendue
    # form 1/(4 N**2) is 1.5 % more at f/4).
    half_angle = math.degrees(math.atan(0.5 / f_number))
    exact = math.sin(math.radians(half_angle)) ** 2
    assert exact == pytest.approx(share, abs=6e-6)
    assert_proportion(*accepted(half_angle), exact)


@pytest.mark.parametrize("half_angle", [5.0, 45.0, 80.0])
def test_any_cone_of_lamberts_light(half_angle):
    assert_proportion(*accepted(half_angle), math.sin(math.radians(half_angle)) ** 2)


@pytest.mark.parametrize(
    ("power", "share"), [(1, 0.25), (2, 0.350481), (4, 0.512861), (8, 0.725984)]
)
def test_flux_inside_thirty_degrees(power, share):
    # 1 - cos(30)**(m + 1): identity (check-values section 8).
    expected = 1.0 - math.cos(math.radians(30.0)) ** (power + 1)
    assert expected == pytest.approx(share, abs=6e-7)
    assert_proportion(*accepted(30.0, cosine_power=float(power)), expected)


@pytest.mark.parametrize(
    ("angle", "factor"),
    [(10, 0.9406), (20, 0.7797), (30, 0.5625), (45, 0.25)],
)
def test_cosine_fourth(angle, factor):
    # H = H0 cos(t)**4 for a small pupil (W. J. Smith, Modern Optical Engineering, 4th edition,
    # p. 259, Eq. 12.9): published. A source beside the axis, a hole of half-angle 4 degrees; the
    # error of the law is of the order of that angle squared, 0.5 %.
    assert math.cos(math.radians(angle)) ** 4 == pytest.approx(factor, abs=6e-5)
    hole, distance = 14.0, 100.0
    beside = distance * math.tan(math.radians(angle))
    traced = trace(
        box(4.0 * beside + 10.0, 0.1)
        + emitter(CONE, x_mm=beside)
        + target(10.0, 2000.0)
        + stop(distance, hole),
        4 * PHOTONS,
    )
    on_axis = math.sin(math.atan(0.5 * hole / distance)) ** 2
    expected = on_axis * factor
    assert_proportion(traced.through_stop, traced.photons, expected, known_to=0.005 * expected)
