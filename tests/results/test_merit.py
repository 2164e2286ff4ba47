"""Figures of merit on light that was made by hand, so that the answer is known."""

import numpy as np
import pytest

from photonsim.results.merit import (
    collected_lm,
    half_intensity_deg,
    nine_over_mean,
    rim_over_mean,
    rms_angle_deg,
    thirteen_deviations,
)
from photonsim.results.panel import structure
from photonsim.results.panel.extremes import farthest, least, least_over_most
from photonsim.results.registry import FIGURES
from photonsim.results.sums import Sums
from photonsim.results.tallies import DIRECTION_SCALE
from tests.results.made import OPTICS


def cells(values):
    both = np.stack([np.asarray(values, float)] * 2)
    return Sums(np.array([1000.0]), {"cells": both[None]}.__getitem__)


def test_nine_points_are_read_at_the_centres_of_equal_fields():
    light = np.full((9, 9), 100.0)
    light[4, 4] = 80.0
    light[1, 7] = 120.0
    light[0, 3] = 0.0  # between the points: must not count
    mean = (7 * 100.0 + 80.0 + 120.0) / 9
    readings = nine_over_mean(cells(light), OPTICS)
    assert least(readings, np.zeros((9, 9)))[0] == pytest.approx(80.0 / mean)
    assert least_over_most(readings, np.zeros((9, 9)))[0] == pytest.approx(80.0 / 120.0)


def test_thirteen_points_add_the_corners():
    light = np.full((9, 9), 100.0)
    light[0, 0] = 60.0
    found = farthest(thirteen_deviations(cells(light), OPTICS), np.zeros((13, 13)))
    assert found[0] == pytest.approx(0.4)


def test_the_rim_is_read_in_strips_of_a_32nd_and_in_corners():
    """Made by hand: even light of 81 x 128 units, of which single strips and a corner lose some."""
    light, profile = np.full((9, 9), 128.0), np.full(128, 81.0)
    light[8, 0] = 64.0  # row 8 is the top
    dim = {"left": profile.copy(), "top": profile.copy()}
    dim["left"][:4] *= 0.25
    dim["left"][4:] *= 1.5  # inside the strip: must not count
    dim["top"][-4:] *= 0.75
    sums = Sums(
        np.array([1.0]),
        {
            "cells": np.stack([light] * 2)[None],
            "profile_x": np.stack([dim["left"]] * 2)[None],
            "profile_y": np.stack([dim["top"]] * 2)[None],
        }.__getitem__,
    )
    mean = (81.0 - 0.5) / 81.0
    left, right, low, top, *corners = rim_over_mean(sums, OPTICS)[0] * mean
    assert (left, right, low, top) == pytest.approx((0.25, 1.5, 1.0, 0.75))
    assert corners == pytest.approx([1.0, 1.0, 0.5, 1.0])


def test_spread_of_lambertian_light_is_45_degrees():
    """Mean sin**2 of the angle over Lambertian flux is 1/2: integral of sin**2 d(sin**2)."""
    moments = np.array([[0.0, 0.0, 0.25 * DIRECTION_SCALE, 0.25 * DIRECTION_SCALE]]) * 1000
    light = Sums(
        np.array([1000.0]), {"direction_sums": moments, "incident": np.array([1000.0])}.__getitem__
    )
    assert rms_angle_deg(light, OPTICS)[0] == pytest.approx(45.0)


def test_half_intensity_of_a_lambertian_emitter_is_60_degrees():
    """cos 60 = 1/2. In a thin band about a plane the flux per degree is cos of the angle.

    'On axis' is the mean over 6 degrees to either side, 0.2 % below the peak: 0.05 degrees.
    """
    angles = np.radians(np.arange(90) * 2.0 - 89.0)
    lambertian, even = np.cos(angles)[None, None], np.ones((1, 1, 90))
    light = Sums(np.ones(1), {"plane_x": lambertian, "plane_y": even}.__getitem__)
    assert half_intensity_deg(light, OPTICS, "plane_x")[0] == pytest.approx(60.0, abs=0.1)
    assert np.isnan(half_intensity_deg(light, OPTICS, "plane_y")[0])


@pytest.mark.parametrize("depth", [0.0, 0.05, 0.4])
def test_structure_is_the_amplitude_of_the_wave_at_the_pitch(depth):
    places = ((np.arange(128) + 0.5) / 128 - 0.5) * 54.0
    profile = 1e6 * (1.0 - (places / 60.0) ** 2) * (1.0 + depth * np.cos(2 * np.pi * places / 18))
    wave = structure.wave(profile[None], 54.0, (18.0, -18.0, 18.0))
    found = structure.strongest(wave, np.zeros((2, 2)))[0]
    # The parabola's fall multiplies the wave, which the fit takes as added: 3 % of the depth.
    assert found == pytest.approx(depth, abs=0.03 * depth + 1e-9)


def test_structure_of_noise_alone_is_near_nil_on_average():
    rng = np.random.default_rng(3)
    profiles = rng.poisson(100.0, (4000, 128)).astype(float)
    waves = structure.wave(profiles, 54.0, (18.0, -18.0, 18.0))
    noise = np.cov(waves.T)
    error = np.sqrt(noise.trace() / 2.0)
    assert abs(structure.strongest(waves, noise).mean()) < 0.25 * error
    assert structure.strongest(waves, np.zeros((2, 2))).mean() > error


def test_structure_is_that_of_the_axis_where_it_is_stronger():
    waves = np.array([[0.03, -0.04, 0.12, 0.05]])
    assert structure.strongest(waves, np.zeros((4, 4)))[0] == pytest.approx(0.13)
    # Three standard errors apart or more, the weaker does not count.
    assert structure.strongest(waves, 1e-4 * np.eye(4))[0] == pytest.approx(0.13, abs=0.001)


def test_structure_is_not_given_where_it_cannot_be_seen():
    profile = np.ones((1, 128))
    assert structure.wave(profile, 54.0, (50.0, -25.0, 25.0)).shape == (1, 0)
    assert np.isnan(structure.wave(np.zeros((1, 128)), 54.0, (18.0, -18.0, 18.0))).all()


def test_lumens_are_the_share_times_flux_and_transmittance():
    light = Sums(np.array([1000.0]), {"collected": np.array([20.0])}.__getitem__)
    assert FIGURES["collected_fraction"].function(light, OPTICS)[0] == pytest.approx(0.02)
    # 2 % of 100 lm, through a panel and lenses that pass 6 %: 0.12 lm.
    assert collected_lm(light, OPTICS)[0] == pytest.approx(0.12)
