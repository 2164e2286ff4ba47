"""Brightness and contrast against printed examples."""

import math

import pytest

from photonsim.bench import brightness_of, brightness_text
from photonsim.bench.brightness import (
    contrast,
    image_illuminance,
    largest_width_mm,
    luminance,
    needed_lux,
)
from photonsim.engine import trace
from photonsim.results import Estimate
from tests.shipped import scene


def test_printed_contrast_example():
    """Required lumens 80 lx x 15 x 3.97 m² / 0.75 = 6352 lm (aetm.org, worked example).

    The example counts ambient x contrast as the white needed; the exact ratio needs one less.
    """
    white = 80.0 * 15.0
    assert white * 3.97 / 0.75 == pytest.approx(6352.0)
    assert contrast(white, math.inf, 80.0) == pytest.approx(16.0)
    assert needed_lux(15.0, math.inf, 80.0) == pytest.approx(80.0 * 14.0)


def test_needed_light_gives_the_contrast_wanted():
    lux = needed_lux(15.0, 400.0, 3.0)
    assert contrast(lux, 400.0, 3.0) == pytest.approx(15.0)
    assert needed_lux(500.0, 400.0, 3.0) == math.inf


def test_cinema_white():
    """48 cd/m² is 14 fL at 3.42626 cd/m² (ISO 26431-1; definition from memory): 150.8 lx."""
    assert pytest.approx(48.0, abs=0.05) == 14.0 * 3.42626
    assert luminance(Estimate(150.8, 0.0), 1.0).value == pytest.approx(48.0, abs=0.01)


def test_printed_illuminance_of_an_image():
    """Smith, Example 12.1 in photometric units: B = 10, half angle 30 degrees gives 7.85."""
    assert image_illuminance(10.0, 1.0, 30.0) == pytest.approx(7.85398, abs=1e-5)


def test_traced_lumens_and_lux_agree():
    result = trace(scene("f"), photons=300_000)
    found = brightness_of(result)
    assert found.mean_lux.value * found.area_m2 == pytest.approx(found.lumens.value)
    # Nine cells of 81 stand for the whole: even to some per cent.
    assert found.nine_lux.mean() == pytest.approx(found.mean_lux.value, rel=0.15)
    assert largest_width_mm(found, found.mean_lux.value) == pytest.approx(found.width_mm)
    assert found.board_contrast < found.room_contrast < found.full_contrast == 400.0
    assert "lx on average" in brightness_text(result)


def test_ten_watts_are_watchable_where_half_a_watt_is_not():
    """Common practice: about 10 W of LEDs for 1.5 m in a dark room. 100 lm/W is assumed."""
    point = trace(scene("f"), photons=200_000)
    bright = brightness_of(point)
    assert bright.width_mm == pytest.approx(1500.0, rel=0.1)
    watts = point.scene.flux_lm / 100.0
    assert watts == pytest.approx(9.0)
    # The dark room's own half lux: the picture of nine watts stands well above it, that of half a
    # watt does not even reach twice as much.
    assert bright.mean_lux.value > 10.0 * point.scene.screen.room_lux
    assert bright.mean_lux.value * 0.5 / watts < 2.0 * point.scene.screen.room_lux
