"""Where the useful light leaves the emitters: cells of equal light, rings at their angles."""

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.figures import draw_emission
from photonsim.figures.lamp.emission import cells_at, directions_counted, radius_of
from photonsim.kernel.guide import cell_of
from photonsim.kernel.tallies import EMISSION_CELLS
from tests.shipped import scene


def test_each_cell_of_the_disc_is_one_of_equal_area_and_that_of_the_kernel():
    """Archimedes: a Lambertian disc's area is its light. 4,096 cells, each as often as the next."""
    places = (np.arange(1024) + 0.5) / 512.0 - 1.0
    x, y = (axis.ravel() for axis in np.meshgrid(places, places))
    inside = np.hypot(x, y) < 1.0
    found = cells_at(x[inside], y[inside])
    sizes = np.bincount(found, minlength=EMISSION_CELLS)
    assert sizes == pytest.approx(np.pi * 512**2 / EMISSION_CELLS, rel=0.15)
    turn = np.arctan2(y[inside], x[inside]) / (2.0 * np.pi) % 1.0
    squared = x[inside] ** 2 + y[inside] ** 2
    some = np.random.default_rng(2).choice(len(found), 400)
    assert [cell_of.py_func(squared[k], turn[k]) for k in some] == found[some].tolist()


def test_radius_is_the_sine_of_a_lambertian_and_the_root_of_the_light_within():
    assert radius_of(30.0, 1.0) == pytest.approx(0.5)
    # cos**3: beyond 60 degrees leaves (1/2)**4 of the light.
    assert radius_of(60.0, 3.0) ** 2 == pytest.approx(15.0 / 16.0)


def test_shares_by_angle_are_those_collected():
    """All cells together collect the collected fraction; bars send theirs straight on."""
    result = trace(scene("a"), photons=1 << 16)
    assert directions_counted(result)
    curve = draw_emission(result).axes[1]
    (steps,) = curve.patches
    values, edges, _ = steps.get_data()
    light = np.diff(np.sin(np.radians(edges)) ** 2)
    # Neighbours share their light, so only nearly.
    found = result.estimate("collected_fraction").value
    assert values @ light / 100.0 == pytest.approx(found, rel=0.05)
    assert values[0] > 50.0 and values[-8:].max() < 1.0
