"""The traced lamp fitted to simulated readings, and readings as a maker writes them."""

import math

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.results import ResultError
from photonsim.scene import SceneError, parse_scene
from photonsim.studies.fitting import fit_tables
from photonsim.studies.fitting.fit import Fit, Free, fit, light_at, sheet_intensity
from photonsim.studies.fitting.likelihood import Likelihood
from photonsim.studies.fitting.sheet_alone import sheet_alone
from photonsim.workshop.readings import Reading, parse_readings
from tests.chance import assert_mean, assert_proportion
from tests.lopsided import LIGHT, lopsided

LAMP = """
title = "Small lamp"
[housing]
width_mm = 60.0
height_mm = 40.0
depth_mm = 40.0
[housing.walls]
reflectance = 0.3
[emitters.spot]
width_mm = 4.0
height_mm = 4.0
flux_lm = 100.0
[train.frost]
kind = "diffuser"
z_mm = 20.0
transmittance = 0.8
reflectance = 0.1
half_angle_deg = 20.0
[train.panel]
kind = "panel"
z_mm = 40.0
columns = 54
rows = 36
active_width_mm = 54.0
active_height_mm = 36.0
outer_width_mm = 60.0
outer_height_mm = 40.0
[train.field_lens]
kind = "ideal_lens"
z_mm = 43.0
focal_mm = 100.0
diameter_mm = 80.0
[train.stop]
kind = "aperture_stop"
z_mm = 143.0
diameter_mm = 40.0
"""
POINTS = [(x, y) for x in (-20.0, 0.0, 20.0) for y in (-12.0, 0.0, 12.0)]


@pytest.fixture(scope="module")
def lamp():
    return parse_scene(LAMP)


def simulated(scene, share, seed, photons=300_000):
    """Return readings at the panel from a run of its own, with so much noise."""
    result = trace(scene, photons=photons, seed=1000 + seed)
    random = np.random.default_rng(seed)
    readings = []
    for x, y in POINTS:
        lux, error = light_at(result, Reading("panel", 0.0, 1.0, x, y), 10.0)
        told = math.hypot(share * lux, error)
        readings.append(Reading("panel", lux + share * lux * random.normal(), told, x, y))
    return readings


def test_known_numbers_are_recovered(lamp):
    truth = {"housing.walls.reflectance": 0.6, "emitters.spot.flux_lm": 80.0}
    # Of readings as good as these, one in four sets no upper limit below 0.9: seed 4 for one.
    readings = simulated(lamp.with_numbers(truth), 0.02, seed=3)
    free = [Free("housing.walls.reflectance", 0.0, 0.9), Free("emitters.spot.flux_lm", 50, 200)]
    found = fit(lamp, readings, free, photons=150_000, confidence=0.999)
    for number in found.fitted:
        assert number.low < truth[number.path] < number.high
        assert number.high - number.low < 1.1 * truth[number.path]
    assert found.fitted[1].unit == "lm"
    assert found.likelihood.chance > 1e-4
    assert found.residuals == pytest.approx(np.zeros(9), abs=5.0)
    text = fit_tables.as_text(found)
    assert "housing.walls.reflectance" in text and "chi-squared" in text
    assert len(fit_tables.residuals_csv(found).splitlines()) == 10


def test_relative_readings_cannot_tell_the_flux(lamp):
    readings = simulated(lamp, 0.02, seed=5)
    found = fit(
        lamp, readings, [Free("emitters.spot.flux_lm", 50.0, 200.0)], photons=20_000, relative=True
    )
    assert found.fitted[0].low is None and found.fitted[0].high is None
    assert any("say nothing" in warning for warning in found.warnings)


def test_width_of_a_sheet_from_readings_at_angles(lamp):
    """Lobe half-width from the shape alone: readings in any unit."""
    wide = lamp.with_numbers({"train.frost.half_angle_deg": 28.0})
    result = trace(sheet_alone(wide, "frost"), photons=100_000, seed=9)
    readings = []
    for angle in (0.0, 10.0, 20.0, 30.0, 40.0, 50.0):
        value, error = sheet_intensity(result, angle)
        lux = 0.003 * value
        readings.append(
            Reading(
                "sheet", lux, math.hypot(0.003 * error, 0.02 * lux), part="frost", angle_deg=angle
            )
        )
    free = [Free("train.frost.half_angle_deg", 10.0, 50.0)]
    found = fit(lamp, readings, free, photons=50_000, confidence=0.999)
    assert found.fitted[0].low < 28.0 < found.fitted[0].high
    assert found.fitted[0].value == pytest.approx(28.0, abs=2.0)


def test_half_angle_of_the_sheet_alone_is_that_of_the_sheet(lamp):
    """Definition: at the half-intensity angle a normal beam's intensity has halved."""
    result = trace(sheet_alone(lamp, "frost"), photons=400_000, seed=2)
    ratio = sheet_intensity(result, 20.0)[0] / sheet_intensity(result, 0.0)[0]
    # The straight-on value comes from a cone of 1 degree, few photons: 4 % here.
    assert ratio == pytest.approx(0.5, abs=0.1)


@pytest.mark.parametrize(
    ("lobe", "expected"),
    [
        # ASTM D1003 counts what leaves by more than 2.5 degrees. A normal lobe that has halved at h
        # has a haze of 2^-(2.5/h)^2, 50 % for h = 2.5; the beam's own 1 degree adds in squares.
        ("half_angle_deg = 2.5", 2.0 ** -(2.5**2 / (2.5**2 + 1.0))),
        ("half_angle_deg = 10.0", 2.0 ** -(2.5**2 / (10.0**2 + 1.0))),
        ("haze = 0.85", 0.85),
    ],
)
def test_haze_of_a_sheet_on_the_bench(lobe, expected):
    scene = parse_scene(LAMP.replace("half_angle_deg = 20.0", lobe))
    result = trace(sheet_alone(scene, "frost"), photons=100_000, seed=3)
    polar = result.tallies.batches["polar"].sum(axis=0)[0].astype(float)
    assert_proportion(int(polar.sum()), 100_000, 0.8, what="transmitted")
    # 2.5 degrees lies within a bin. The logarithm of what leaves beyond an angle falls as the
    # square of the angle, for a normal lobe; 6.25 lies 0.45 of the way from 4 to 9.
    beyond_2, beyond_3 = polar[2:].sum() / polar.sum(), polar[3:].sum() / polar.sum()
    assert beyond_2**0.55 * beyond_3**0.45 == pytest.approx(expected, abs=0.01)


def test_light_at_the_panel_sums_to_what_arrives(lamp):
    """Cells of one pixel, added up over the panel, hold the incident photons."""
    result = trace(lamp, photons=20_000, seed=4)
    total = sum(
        light_at(result, Reading("panel", 0.0, 1.0, x - 26.5, y - 17.5), 0.1)[0]
        for x in range(54)
        for y in range(36)
    )
    lumens = total * 1e-6  # a pixel is 1 mm²
    assert lumens == pytest.approx(100.0 * result.estimate("incident_fraction").value)


@pytest.mark.parametrize("place", ["panel", "screen"])
def test_readings_are_brightest_at_the_bar_of_a_lopsided_lamp(place):
    """Its bar stands at (22, 12) mm, and nothing like it below or to the left."""
    result = trace(lopsided(), photons=200_000)
    found = {
        (x, y): light_at(result, Reading(place, 0.0, 1.0, x, y, 960.0), 8.0)[0]
        for x in (-LIGHT[0], LIGHT[0])
        for y in (-LIGHT[1], LIGHT[1])
    }
    bar = found.pop(LIGHT)
    assert bar > 1.5 * max(found.values())


def test_screen_is_as_much_darker_as_it_is_larger(lamp):
    result = trace(lamp, photons=20_000, seed=4)
    near, far = (
        light_at(result, Reading("screen", 0.0, 1.0, 0.0, 0.0, width), 10.0)[0]
        for width in (540.0, 1080.0)
    )
    # The inverse square of the magnification, as long as the cell is smaller than the spot.
    assert near == pytest.approx(4.0 * far)


@pytest.mark.long
def test_limits_hold_the_truth_of_a_traced_lamp():
    lamp = parse_scene(LAMP)
    truth = {"housing.walls.reflectance": 0.5, "emitters.spot.flux_lm": 90.0}
    other = lamp.with_numbers(truth)
    free = [Free("housing.walls.reflectance", 0.0, 0.95), Free("emitters.spot.flux_lm", 40, 200)]
    held, fits, chances = dict.fromkeys(truth, 0), 60, []
    for seed in range(fits):
        readings = simulated(other, 0.03, seed=seed)
        found = fit(lamp, readings, free, photons=50_000, seed=seed + 1, confidence=0.9)
        chances.append(found.likelihood.chance)
        for number in found.fitted:
            low = -math.inf if number.low is None else number.low
            high = math.inf if number.high is None else number.high
            held[number.path] += low <= truth[number.path] <= high
    for path, hits in held.items():
        assert_proportion(hits, fits, 0.9, what=f"covered {path}")
    # Chances of a sound fit are even between 0 and 1.
    assert_mean(chances, 0.5, what="mean chance of the fits")


def test_csv_of_readings(lamp):
    text = (
        "# at the bench, 3 May\n"
        "place;x_mm;y_mm;part;angle_deg;lux;uncertainty_lux\n"
        "panel;-10,5;4;;;1234,5;60\n"
        "sheet;;;frost;15;80;4\n"
    )
    panel, sheet = parse_readings(text, lamp)
    assert (panel.x_mm, panel.lux, panel.uncertainty_lux) == (-10.5, 1234.5, 60.0)
    assert (sheet.part, sheet.angle_deg) == ("frost", 15.0)


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("wall,0,0,,,5,1", "line 2, place"),
        ("panel,0,,,,5,1", "line 2, y_mm: missing"),
        ("panel,0,x,,,5,1", "line 2, y_mm"),
        ("panel,99,0,,,5,1", "outside the picture area"),
        ("panel,0,0,,,5,0", "greater than 0"),
        ("panel,0,0,,,-5,1", "must not be negative"),
        ("panel,0,0,,,nan,1", "is not a number"),
        ("sheet,,,mist,10,5,1", "there are frost"),
        ("sheet,,,frost,95,5,1", "less than 89"),
        ("screen,0,0,,,5,1", "picture_width_mm: missing"),
    ],
)
def test_broken_readings_are_told_with_their_line(lamp, line, told):
    with pytest.raises(SceneError) as caught:
        parse_readings(f"place,x_mm,y_mm,part,angle_deg,lux,uncertainty_lux\n{line}\n", lamp)
    assert told in str(caught.value)


@pytest.mark.parametrize(
    ("free", "told"),
    [
        ([], "no number"),
        ([Free("train.panel.columns", 10, 20)], "counts things"),
        ([Free("housing.walls.reflectance", 0.5, 0.5)], "is empty"),
        ([Free("housing.walls.reflectance", 0.0, 0.9)] * 2, "twice"),
        ([Free("housing.walls.reflectance", 0.0, 0.9), Free("emitters.spot.flux_lm", 9, 99)],
         "cannot tell 2 numbers"),
    ],
)  # fmt: skip
def test_impossible_fits_are_refused(lamp, free, told):
    with pytest.raises(ResultError, match=told):
        fit(lamp, [Reading("panel", 100.0, 5.0, 0.0, 0.0)], free)


@pytest.mark.parametrize(
    ("chi_squared", "told"),
    [
        # Two degrees of freedom: exp(-chi-squared / 2), the tail of the exponential law.
        (0.01, "luck alone does worse 100 % of the time. The fitted scene explains them."),
        (1.0, "luck alone does worse 61 % of the time. The fitted scene explains them."),
        (16.0, "luck alone does worse 0.034 % of the time."),
        (500.0, "luck alone does worse less than 0.01 % of the time."),
    ],
)
def test_the_odds_of_a_fit_are_told_in_digits_that_people_read(chi_squared, told):
    none = np.zeros(0)
    likelihood = Likelihood(
        *(none, none, none, (), np.zeros((0, 0)), np.zeros(3), np.zeros(3), ()),
        chi_squared=chi_squared,
        degrees=2,
        confidence=0.95,
    )
    found = Fit((), (Reading("panel", 1.0, 1.0),) * 3, likelihood, ())
    assert " ".join(fit_tables.as_text(found).split()).endswith(told)
