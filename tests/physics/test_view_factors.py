"""Whole scenes against configuration factors: an emitter that shines into black surroundings."""

import math

import numpy as np
import pytest

from tests.chance import assert_distribution, assert_proportion
from tests.physics.tracing import box, emitter, stop, target, trace
from tests.physics.view_factors import (
    aligned_rectangles,
    coaxial_discs,
    element_to_cells,
    element_to_corner,
    element_to_disc,
)

PHOTONS = 640_000


@pytest.mark.parametrize(
    ("a", "b", "c", "printed"),
    [
        (1.0, 1.0, 1.0, 0.1998),  # Incropera Table 13.2, by engdatabase.com: published
        (1.0, 1.5, 0.5, 0.4756),  # Siegel and Howell, 4th edition, p. 843: published
        (0.1, 0.1, 0.05, 0.4153),  # Howell C-13, by fchartsoftware.com: published
        (10.0, 10.0, 1.0, 0.8270),  # engdatabase.com: published
        (1.0, 2.0, 1.0, 0.2859),  # derived; that list prints 0.2353, which is wrong
        (0.5, 0.5, 1.0, 0.0686),  # derived
    ],
)
def test_rectangle_to_rectangle(a, b, c, printed):
    expected = aligned_rectangles(a, b, c)
    assert expected == pytest.approx(printed, abs=6e-5)
    width, height, distance = 100.0, 100.0 * b / a, 100.0 * c / a
    traced = trace(
        box(width, 0.5 * distance, height=height)
        + emitter(f"width_mm = {width}\nheight_mm = {height}")
        + target(distance, width, height)
        + stop(distance + 0.1, 1.0),
        PHOTONS,
    )
    assert_proportion(traced.incident.sum(), traced.photons, expected)


def disc_to_stop(diameter, distance, hole, x=0.0):
    """Share of a disc's light that goes through a hole at a distance."""
    wide = 4.0 * (diameter + hole + 2.0 * x)
    traced = trace(
        box(wide, 0.01 * distance)
        + emitter(f"diameter_mm = {diameter}", x_mm=x)
        + target(0.5 * distance, 2.0 * wide)
        + stop(distance, hole),
        PHOTONS,
    )
    return traced.through_stop, traced.photons


@pytest.mark.parametrize(
    ("r1", "r2", "h", "printed"),
    [
        (0.1, 0.2, 0.5, 0.1339),  # Siegel and Howell, 4th edition, p. 845: published
        (1.0, 1.0, 1.0, 0.381966),  # (3 - sqrt 5)/2: from memory, recomputed
        (1.0, 1.0, 2.0, 0.171573),  # 3 - 2 sqrt 2: from memory, recomputed
        (2.0, 2.0, 1.0, 0.609612),  # derived
    ],
)
def test_disc_to_disc(r1, r2, h, printed):
    expected = coaxial_discs(r1, r2, h)
    assert expected == pytest.approx(printed, abs=4e-5)
    scale = 50.0 / h
    found = disc_to_stop(2 * r1 * scale, h * scale, 2 * r2 * scale)
    assert_proportion(*found, expected)


@pytest.mark.parametrize(
    ("r", "h", "offset", "printed"),
    [
        (1.0, 1.0, 0.0, 0.5),  # r**2/(r**2 + h**2), craftbook.thermocraft.space: published
        (1.0, 2.0, 0.0, 0.2),
        (1.0, 1.0, 0.5, 0.4379826),  # offset form: from memory, recomputed
        # W. J. Smith, Modern Optical Engineering, 4th edition, p. 262: half-angle 30 degrees at 45
        # degrees off axis; Foote's H = 2.79610 for N = 10 is this factor times 10 pi.
        (math.tan(math.radians(30)), 1.0, 1.0, 0.08900253),
    ],
)
def test_element_to_disc(r, h, offset, printed):
    expected = float(element_to_disc(r, h, offset))
    assert expected == pytest.approx(printed, abs=1e-7)
    found = disc_to_stop(1e-3, 50.0 * h, 100.0 * r, x=50.0 * offset)
    assert_proportion(*found, expected)


@pytest.mark.parametrize(("x", "printed"), [(0.0, 0.2394565), (50.0, 0.1385316)])
def test_element_to_square(x, printed):
    # Under the centre and under a corner of a square as far away as its side: derived, and
    # recomputed by corners. Every cell of the target has its own factor.
    expected = float(
        element_to_corner(50.0 - x, 50.0 - x, 100.0)
        + 2 * element_to_corner(50.0 + x, 50.0 - x, 100.0)
        + element_to_corner(50.0 + x, 50.0 + x, 100.0)
    )
    assert expected == pytest.approx(printed, abs=1e-7)
    traced = trace(
        box(200.0, 1.0) + emitter(x_mm=x, y_mm=x) + target(100.0, 100.0) + stop(101.0, 1.0),
        PHOTONS,
    )
    assert_proportion(traced.incident.sum(), traced.photons, expected)
    edges = np.linspace(-50.0, 50.0, 10) - x
    cells = element_to_cells(edges, edges, 100.0)
    assert cells.sum() == pytest.approx(expected, rel=1e-12)
    assert_distribution(traced.incident, cells / cells.sum(), what="cells of the square")


def test_falling_off_beside_a_large_disc():
    # Foote's formula again, the other way round: the illuminance of a plane across a disc of
    # half-angle 30 degrees, out to 45 degrees, in 15 x 15 cells. E = (flux/area) F, by reciprocity.
    radius, distance, side = 100.0 * math.tan(math.radians(30)), 100.0, 200.0
    traced = trace(
        box(600.0, 1.0)
        + emitter(f"diameter_mm = {2 * radius}")
        + target(distance, side, columns=15, rows=15)
        + stop(distance + 1.0, 1.0),
        2 * PHOTONS,
    )
    fine = (np.arange(150) + 0.5) * side / 150 - side / 2
    offsets = np.hypot(fine[None, :], fine[:, None])
    factors = element_to_disc(radius, distance, offsets)
    cells = factors.reshape(15, 10, 15, 10).mean(axis=(1, 3))
    total = cells.mean() * side**2 / (np.pi * radius**2)
    assert_proportion(traced.incident.sum(), traced.photons, total, known_to=2e-5)
    assert_distribution(traced.incident, cells / cells.sum(), what="cells across the field")
    # The book's warning: cos**4 would be off by 1.424 at 45 degrees (W. J. Smith, p. 262).
    on_axis = element_to_disc(radius, distance, 0.0)
    assert element_to_disc(radius, distance, 100.0) / on_axis * 4 == pytest.approx(
        1.42404, abs=1e-5
    )
    assert 10 * math.pi * on_axis == pytest.approx(7.85398, abs=1e-5)
