"""Brightness and contrast against printed examples."""

import math
import re

import pytest

from photonsim.engine import trace
from photonsim.results import Estimate
from photonsim.results.panel.field import ZONES
from photonsim.summary.brightness import (
    brightness_of,
    contrast,
    largest_width_mm,
    luminance,
    needed_lux,
)
from photonsim.summary.brightness_text import brightness_text
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


def test_traced_lumens_and_lux_agree():
    result = trace(scene("f"), photons=300_000)
    found = brightness_of(result)
    area_m2 = found.width_mm * found.height_mm * 1e-6
    assert found.mean_lux.value * area_m2 == pytest.approx(found.lumens.value)
    # Nine cells of 81 stand for the whole: even to some per cent.
    panel = result.scene.panel
    growth = area_m2 / (panel.active_width_mm * panel.active_height_mm * 1e-6)
    nine = result.nine_points() * result.optics.transmittance / growth
    assert nine.mean() == pytest.approx(found.mean_lux.value, rel=0.15)
    same = largest_width_mm(found, found.mean_lux.value)
    assert same.value == pytest.approx(found.width_mm)
    assert same.relative_error == pytest.approx(0.5 * found.mean_lux.relative_error)
    assert found.board_contrast.value < found.room_contrast.value < found.full_contrast == 400.0
    lux, room = found.mean_lux, result.scene.screen.room_lux
    assert found.room_contrast.value == pytest.approx((lux.value + room) / (lux.value / 400 + room))
    # dC/dE = A (1 - 1/K) / (E/K + A)**2 by hand.
    slope = room * (1.0 - 1.0 / 400.0) / (lux.value / 400.0 + room) ** 2
    assert found.room_contrast.error == pytest.approx(slope * lux.error, rel=0.02)


def test_words_hold_what_the_audience_sees_of_each_zone():
    words = brightness_text(trace(scene("h"), photons=300_000))
    assert "lx on average" in words
    lines = words.splitlines()
    assert all(len(line) <= 80 for line in lines)
    rows = [line for line in lines if line[2:].startswith(tuple(ZONES))]
    blocks = len(rows) // len(ZONES)
    assert [row[2:21].strip() for row in rows] == blocks * list(ZONES)
    assert re.search(r"\bred\b", words), "the scene has three wavelengths"
    assert not re.search(r"\bred\b", brightness_text(trace(scene("f"), photons=100_000)))
