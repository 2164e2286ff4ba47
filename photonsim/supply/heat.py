"""Heat to still air: natural convection and radiation of upright plates and fins, a closed box.

Rooms are at one atmosphere. Temperatures in °C, lengths in metres, conductances in W/K.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

from photonsim.scene import Box, HeatSink, Housing

GRAVITY = 9.80665
STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m² K⁴), exact to all digits given (CODATA 2018)
ABSOLUTE = 273.15
ALUMINIUM_W_PER_M_K = 200.0  # alloys for extrusion have 200 to 220
BOX_EMISSIVITY = 0.9  # wood, paint, plastic, all but bare metal
# Far beyond anything a lamp survives; the search for a balance of heat ends there.
HOTTEST_RISE_K = 2000.0


class Air(NamedTuple):
    """Properties of air: W/(m K), m²/s, m²/s."""

    conductivity: float
    viscosity: float
    diffusivity: float


def air_at(celsius: float) -> Air:
    """Return the properties of dry air at one atmosphere.

    Sutherland's formulas for viscosity and conductivity with the constants of F. M. White, Viscous
    Fluid Flow, tables 1-2 and 1-3, the law of ideal gases for the density; 2 % from 0 to 200 °C.
    """
    kelvin = celsius + ABSOLUTE
    ratio = (kelvin / 273.0) ** 1.5
    dynamic = 1.716e-5 * ratio * (273.0 + 111.0) / (kelvin + 111.0)
    conductivity = 0.0241 * ratio * (273.0 + 194.0) / (kelvin + 194.0)
    density = 101_325.0 / (287.05 * kelvin)
    return Air(conductivity, dynamic / density, conductivity / (density * 1007.0))


def rayleigh(length: float, surface_c: float, air_c: float) -> float:
    """Return Ra = g beta (Ts - Ta) L³ / (nu alpha) with air properties at the film temperature."""
    film_c = 0.5 * (surface_c + air_c)
    air = air_at(film_c)
    buoyancy = GRAVITY * abs(surface_c - air_c) / (film_c + ABSOLUTE)
    return buoyancy * length**3 / (air.viscosity * air.diffusivity)


def plate_film(height: float, surface_c: float, air_c: float) -> float:
    """Return the mean film coefficient in W/(m² K) of an upright plate in still air.

    S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18, 1323 (1975), the correlation
    for all Rayleigh numbers.
    """
    air = air_at(0.5 * (surface_c + air_c))
    prandtl = air.viscosity / air.diffusivity
    spread = (1.0 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    ra = rayleigh(height, surface_c, air_c)
    return air.conductivity / height * (0.825 + 0.387 * ra ** (1 / 6) / spread) ** 2


def channel_film(spacing: float, height: float, surface_c: float, air_c: float) -> float:
    """Return the mean film coefficient in W/(m² K) of upright fins a spacing apart.

    A. Bar-Cohen and W. M. Rohsenow, J. Heat Transfer 106, 116 (1984), for two plates at one
    temperature.
    """
    air = air_at(0.5 * (surface_c + air_c))
    channel = max(rayleigh(spacing, surface_c, air_c) * spacing / height, 1.0e-12)
    nusselt = (576.0 / channel**2 + 2.873 / math.sqrt(channel)) ** -0.5
    return nusselt * air.conductivity / spacing


def fin_efficiency(film: float, depth: float, thickness: float, conductivity: float) -> float:
    """Return the share of its heat that a fin gives off for not being as hot as its base.

    tanh(m L)/(m L), m = sqrt(2 h/(k t)), with half the thickness added to the depth for the tip
    (Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, section 3.6).
    """
    reach = math.sqrt(2.0 * film / (conductivity * thickness)) * (depth + 0.5 * thickness)
    return math.tanh(reach) / reach


def radiation_film(emissivity: float, surface_c: float, air_c: float) -> float:
    """Return the film coefficient in W/(m² K) of radiation to walls at the air's temperature."""
    hot, cold = surface_c + ABSOLUTE, air_c + ABSOLUTE
    return emissivity * STEFAN_BOLTZMANN * (hot * hot + cold * cold) * (hot + cold)


def sink_conductance(sink: HeatSink, surface_c: float, air_c: float) -> float:
    """Return what a heat sink of given sizes carries off in W/K, by convection and radiation."""
    width, height = 1e-3 * (sink.width_mm or 0.0), 1e-3 * (sink.height_mm or 0.0)
    radiating = radiation_film(sink.emissivity, surface_c, air_c)
    if sink.fins is None:
        film = plate_film(height, surface_c, air_c)
        return sink.faces * width * height * (film + radiating)
    depth, thickness = 1e-3 * (sink.fin_depth_mm or 0.0), 1e-3 * (sink.fin_thickness_mm or 0.0)
    spacing = (width - sink.fins * thickness) / (sink.fins - 1)
    film = channel_film(spacing, height, surface_c, air_c)
    efficiency = fin_efficiency(film, depth, thickness, ALUMINIUM_W_PER_M_K)
    flanks = 2.0 * sink.fins * height * (depth + 0.5 * thickness)
    between = (sink.fins - 1) * spacing * height
    # Fins see mostly one another: they radiate as the block around them would.
    block = width * height + 2.0 * depth * (width + height)
    return film * (efficiency * flanks + between) + radiating * block


def sink_rise(sink: HeatSink, heat_w: float, air_c: float) -> float:
    """Return how many kelvin a heat sink is warmer than its air at so many watts."""
    if sink.k_per_w is not None:
        return sink.k_per_w * heat_w
    return rise_of(heat_w, lambda rise: sink_conductance(sink, air_c + rise, air_c))


def box_rise(box: Box, housing: Housing, heat_w: float, room_c: float) -> float:
    """Return how many kelvin the air in a closed box is warmer than the room at so many watts.

    Without a figure: convection and radiation at both faces of base and sides, and conduction
    through the walls between.
    """
    if box.k_per_w is not None:
        return box.k_per_w * heat_w
    width, height = 1e-3 * housing.width_mm, 1e-3 * housing.height_mm
    area = width * height + 2.0 * (width + height) * 1e-3 * housing.depth_mm

    def face(air_c: float) -> Callable[[float], float]:
        return lambda rise: (
            area
            * (
                plate_film(height, air_c + rise, air_c)
                + radiation_film(BOX_EMISSIVITY, air_c + rise, air_c)
            )
        )

    outside = rise_of(heat_w, face(room_c))
    wall = heat_w * 1e-3 * box.wall_mm / (box.wall_w_per_m_k * area)
    # From the air inside to the wall the same law holds with the parts of hot and cold changed.
    return outside + wall + rise_of(heat_w, face(room_c + outside + wall))


def rise_of(heat_w: float, conductance: Callable[[float], float]) -> float:
    """Return the rise in kelvin at which a conductance in W/K, a function of it, carries a heat."""
    if heat_w <= 0.0:
        return 0.0
    from scipy.optimize import brentq  # 0.18 s, which `trace` would pay too

    def surplus(rise: float) -> float:
        return conductance(rise) * rise - heat_w

    if surplus(HOTTEST_RISE_K) < 0.0:
        return HOTTEST_RISE_K
    return float(brentq(surplus, 1.0e-6, HOTTEST_RISE_K, xtol=1e-6))
