"""What is told of a stop behind a thick lens, against ray matrices and skew rays, face by face."""

import math

import numpy as np
import pytest

from photonsim.optics.facts import facts_of
from tests.chance import assert_proportion
from tests.shipped import scene as shipped

# The lamp d_split_film: its panel's half sides, and heights along z. Its rear lens is 6 mm thick,
# convex to the lamp and flat to the stop. N-BK7 by the maker's Sellmeier formula, 550 nm.
HALF = np.array([47.52, 26.93])
PANEL, FIELD, FRONT, BACK, STOP = 45.0, 50.0, 208.0, 214.0, 230.0
FOCAL, RADIUS = 180.0, 175.7
PAIRS = ((1.03961212, 0.00600069867), (0.231792344, 0.0200179144), (1.01046945, 103.560653))
INDEX = math.sqrt(1.0 + sum(b * 0.55**2 / (0.55**2 - c) for b, c in PAIRS))


def gap(mm):
    return np.array([[1.0, mm], [0.0, 1.0]])


def thin(power):
    return np.array([[1.0, 0.0], [-power, 1.0]])


# The slab of glass is as thick as 6 / n mm of air (Hecht, section 6.2).
LENS = gap(6.0 / INDEX) @ thin((INDEX - 1.0) / RADIUS)
TO_BACK = LENS @ gap(FRONT - FIELD) @ thin(1.0 / FOCAL)


def test_the_stop_and_the_lamps_image_by_ray_matrices():
    facts = facts_of(shipped("d"))
    (a, b), (c, d) = gap(STOP - BACK) @ TO_BACK @ gap(FIELD - PANEL)
    corner = math.hypot(*HALF)
    assert facts.view.f_number == pytest.approx(abs(b) / 40.0, rel=1e-9)
    arrives = math.degrees(math.atan(abs(c * corner - d * a * corner / b)))
    assert facts.view.corner_arrives_deg == pytest.approx(arrives, rel=1e-9)
    (_, height), (_, slope) = TO_BACK @ gap(FIELD - 1.6)
    lamp = next(lens.lamp for lens in facts.lenses if lens.name == "rear_lens")
    assert lamp.z_mm == pytest.approx(BACK - height / slope, rel=1e-9)
    assert lamp.magnification == pytest.approx(1.0 / slope, rel=1e-9)
    # Backwards, a matrix of determinant 1 has its diagonal exchanged.
    (_, height), (_, slope) = np.array([[LENS[1, 1], LENS[0, 1]], [LENS[1, 0], LENS[0, 0]]]) @ gap(
        STOP - BACK
    )
    stop = next(lens.stop for lens in facts.lenses if lens.name == "rear_lens")
    assert stop.z_mm == pytest.approx(FRONT + height / slope, rel=1e-9)
    assert stop.magnification == pytest.approx(1.0 / slope, rel=1e-9)


def fly(places, cosines, mm):
    return places + mm * cosines / np.sqrt(1.0 - (cosines**2).sum(axis=1))[:, None]


def test_the_accepted_etendue_by_skew_rays():
    """Rays from all over the panel, even in the plane of direction cosines up to 0.2, by Snell's
    law at the sphere and the plane (vectors: Glassner, An Introduction to Ray Tracing, 1989; from
    memory)."""
    random, count, most = np.random.default_rng(7), 2_000_000, 0.2
    places = HALF * (2.0 * random.random((count, 2)) - 1.0)
    radius, turn = most * np.sqrt(random.random(count)), 2.0 * math.pi * random.random(count)
    cosines = radius[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])
    places = fly(places, cosines, FIELD - PANEL)
    # The ideal lens: whatever leaves its focus leaves it parallel to the axis.
    cosines = cosines - places / np.sqrt((places**2).sum(axis=1) + FOCAL**2)[:, None]
    places = fly(places, cosines, FRONT - FIELD)
    ray = np.column_stack([cosines, np.sqrt(1.0 - (cosines**2).sum(axis=1))])
    from_centre = np.column_stack([places, np.full(count, -RADIUS)])
    along = (from_centre * ray).sum(axis=1)
    under = along**2 - (from_centre**2).sum(axis=1) + RADIUS**2
    met = under > 0.0
    from_centre += (-along - np.sqrt(np.maximum(under, 0.0)))[:, None] * ray
    normal = from_centre / RADIUS
    straight = -(normal * ray).sum(axis=1)
    bent = np.sqrt(1.0 - (1.0 - straight**2) / INDEX**2)
    ray = ray / INDEX + (straight / INDEX - bent)[:, None] * normal
    depth = (BACK - FRONT - RADIUS - from_centre[:, 2]) / ray[:, 2]
    places = from_centre[:, :2] + depth[:, None] * ray[:, :2]
    met &= np.maximum((from_centre[:, :2] ** 2).sum(axis=1), (places**2).sum(axis=1)) < 28.0**2
    met &= (fly(places, INDEX * ray[:, :2], STOP - BACK) ** 2).sum(axis=1) < 20.0**2
    whole = 4.0 * HALF.prod() * math.pi * most**2
    found = facts_of(shipped("d")).acceptance.accepted_mm2sr
    # The lens's aberrations, which its stand-in has not, are some 0.2 %.
    assert_proportion(int(met.sum()), count, found / whole, known_to=2e-3 * found / whole)
