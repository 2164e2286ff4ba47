"""Heat to still air against textbook examples and limits."""

import math

import pytest

from photonsim.scene import Box, HeatSink, Housing
from photonsim.supply.heat import (
    air_at,
    box_rise,
    channel_film,
    fin_efficiency,
    plate_film,
    radiation_film,
    rayleigh,
    sink_conductance,
    sink_rise,
)

KELVIN = 273.15


@pytest.mark.parametrize(
    ("kelvin", "viscosity", "conductivity", "diffusivity"),
    [
        (300.0, 15.89e-6, 26.3e-3, 22.5e-6),
        (350.0, 20.92e-6, 30.0e-3, 29.9e-6),
        (400.0, 26.41e-6, 33.8e-3, 38.3e-6),
    ],
)
def test_air(kelvin, viscosity, conductivity, diffusivity):
    """Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table A.4 (from memory)."""
    air = air_at(kelvin - KELVIN)
    assert air.viscosity == pytest.approx(viscosity, rel=0.025)
    assert air.conductivity == pytest.approx(conductivity, rel=0.01)
    assert air.diffusivity == pytest.approx(diffusivity, rel=0.025)


def test_fire_screen():
    """A glass screen 0.71 m high and 1.02 m wide at 232 °C in air of 23 °C.

    Ra = 1.813e9, h = 7.0 W/(m² K), 1060 W by convection: Incropera and DeWitt, example 9.2 (from
    memory), which uses the same correlation.
    """
    assert rayleigh(0.71, 232.0, 23.0) == pytest.approx(1.813e9, rel=0.03)
    film = plate_film(0.71, 232.0, 23.0)
    assert film == pytest.approx(7.0, abs=0.05)
    assert film * 0.71 * 1.02 * (232.0 - 23.0) == pytest.approx(1060.0, rel=0.005)


def test_small_plate_limit():
    """Churchill and Chu's correlation ends at Nu = 0.825² = 0.68 for no buoyancy (identity)."""
    nusselt = plate_film(1e-6, 25.001, 25.0) * 1e-6 / air_at(25.0).conductivity
    assert nusselt == pytest.approx(0.825**2, rel=0.01)


def best_spacing(height, surface_c, air_c):
    """2.714 L / Ra_L**(1/4) in metres, for most heat per base (Bar-Cohen and Rohsenow 1984)."""
    return 2.714 * height / rayleigh(height, surface_c, air_c) ** 0.25


def test_finned_heat_sink():
    """A base 12 cm wide and 18 cm high at 80 °C in air of 30 °C, fins 1 mm thick and 2.4 cm deep.

    A worked problem (www.scribd.com/document/715193034, after Y. Cengel, Heat Transfer, example
    9-3) finds the best spacing 7.5 mm, h = 4.83 W/(m² K), 14 fins of efficiency 0.992 and 34.2 W.
    It takes the conductivity of air 2 % lower.
    """
    spacing = best_spacing(0.18, 80.0, 30.0)
    assert spacing == pytest.approx(0.0075, abs=0.00005)
    assert channel_film(spacing, 0.18, 80.0, 30.0) == pytest.approx(4.83, rel=0.03)
    assert fin_efficiency(4.83, 0.024, 0.001, 240.0) == pytest.approx(0.992, abs=0.0005)
    sink = HeatSink(
        width_mm=13 * 7.5 + 14.0,
        height_mm=180.0,
        fins=14,
        fin_depth_mm=24.0,
        fin_thickness_mm=1.0,
        emissivity=0.0,
    )
    assert sink_conductance(sink, 80.0, 30.0) * 50.0 == pytest.approx(34.2, rel=0.03)


def test_best_spacing_is_best():
    """The optimum by formula is within 2 % of the best of the correlation itself."""

    def carried(spacing):
        return channel_film(spacing, 0.1, 60.0, 25.0) / spacing

    best = best_spacing(0.1, 60.0, 25.0)
    tried = [carried(best * factor) for factor in (0.5, 0.8, 0.9, 1.0, 1.1, 1.25, 2.0)]
    assert max(tried) <= 1.02 * carried(best)


def test_wide_channels_are_single_plates():
    """Far apart, Bar-Cohen and Rohsenow's fins are plates: Nu = 0.59 Ra^(1/4), laminar air."""
    ra = rayleigh(0.1, 60.0, 25.0)
    plate = 0.59 * ra**0.25 * air_at(42.5).conductivity / 0.1
    assert channel_film(0.2, 0.1, 60.0, 25.0) == pytest.approx(plate, rel=0.01)


def test_radiation():
    """sigma (T1⁴ - T2⁴): a black plate at 100 °C in walls of 20 °C gives off 680 W/m²."""
    film = radiation_film(1.0, 100.0, 20.0)
    assert film * 80.0 == pytest.approx(5.670374e-8 * (373.15**4 - 293.15**4), rel=1e-6)


def test_rise_balances_the_heat():
    sink = HeatSink(width_mm=100.0, height_mm=70.0, faces=2, emissivity=0.9)
    rise = sink_rise(sink, 5.0, 25.0)
    assert sink_conductance(sink, 25.0 + rise, 25.0) * rise == pytest.approx(5.0, rel=1e-6)
    assert sink_rise(sink, 0.0, 25.0) == 0.0
    assert sink_rise(HeatSink(k_per_w=3.0), 5.0, 25.0) == 15.0


def test_box_rise_follows_the_walls():
    """Surfaces in still air give off some 10 W/(m² K), radiation included: common practice."""
    housing = Housing(width_mm=400.0, height_mm=300.0, depth_mm=200.0)
    area = 0.4 * 0.3 + 2 * (0.4 + 0.3) * 0.2
    rise = box_rise(Box(wall_mm=0.1, wall_w_per_m_k=200.0), housing, 20.0, 25.0)
    assert rise == pytest.approx(20.0 / area * (1 / 10 + 1 / 10), rel=0.2)
    thick = box_rise(Box(wall_mm=20.0, wall_w_per_m_k=0.13), housing, 20.0, 25.0)
    assert thick == pytest.approx(rise + 20.0 * 0.02 / (0.13 * area), rel=0.02)
    assert box_rise(Box(k_per_w=2.0), housing, 20.0, 25.0) == 40.0


def test_fin_efficiency_limits():
    """A short thick fin is as hot as its base; a long one gives off what sqrt(2 h k t) allows."""
    assert fin_efficiency(5.0, 0.001, 0.005, 200.0) == pytest.approx(1.0, abs=1e-3)
    film, thickness, depth = 20.0, 0.0005, 2.0
    carried = 2.0 * film * depth * fin_efficiency(film, depth, thickness, 20.0)
    assert carried == pytest.approx(math.sqrt(2.0 * film * 20.0 * thickness), rel=1e-3)
