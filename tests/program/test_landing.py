"""Chief rays: right near the axis, and kept while nothing from the panel on changes."""

import numpy as np
import pytest

from photonsim.kernel import codes
from photonsim.program import build_program
from photonsim.program.landing import screen_arrays
from tests.shipped import scene


@pytest.mark.parametrize("letter", ["a", "d", "f"])
def test_near_the_axis_as_first_order_optics_says(letter):
    """Near the axis a chief ray lands at the magnification times p, by the rules of paraxial rays
    (W. J. Smith, Modern Optical Engineering, chapter on first-order optics)."""
    lamp = scene(letter)
    program = build_program(lamp)
    assert lamp.projection is not None
    slope = lamp.projection.slope * program.screen[codes.SCREEN_THROW]
    assert program.screen[codes.SCREEN_PLACE] == pytest.approx(1.0, abs=1e-8)
    assert program.screen[codes.SCREEN_SLOPE] == pytest.approx(slope, rel=1e-8)


def test_what_stands_before_the_panel_makes_no_new_chief_rays():
    lamp = scene("d")
    group = next(iter(lamp.emitters))
    program = build_program(lamp)
    found = screen_arrays.cache_info().misses
    build_program(lamp.with_numbers({f"emitters.{group}.reflectance": 0.123}))
    assert screen_arrays.cache_info().misses == found
    stop = next(name for name, part in lamp.train.items() if part is lamp.stop)
    smaller = 0.9 * lamp.stop.diameter_mm
    narrow = build_program(lamp.with_numbers({f"train.{stop}.diameter_mm": smaller}))
    assert screen_arrays.cache_info().misses == found + 1
    assert narrow.spot_per_mm[0] > program.spot_per_mm[0]


@pytest.mark.parametrize("letter", ["d", "h", "j"])
def test_same_bits_whatever_was_built_before(letter):
    kept = build_program(scene(letter))
    build_program(scene("g"))
    screen_arrays.cache_clear()
    anew = build_program(scene(letter))
    assert np.array_equal(anew.screen, kept.screen)
    assert np.array_equal(anew.spot_per_mm, kept.spot_per_mm)


def test_no_screen_no_chief_rays():
    lamp = scene("d")
    program = build_program(lamp.model_copy(update={"screen": None}))
    assert not program.screen.any() and not program.spot_per_mm.any()
    assert not program.traits & codes.SCREEN
