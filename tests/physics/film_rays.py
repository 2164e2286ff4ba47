"""Rays sent at a prism film, many at a time, and what comes out."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.kernel.compiler import jit
from photonsim.kernel.entry import Entry
from photonsim.kernel.numbers import short
from photonsim.kernel.polarisation import Light
from photonsim.kernel.prism_film import through_film
from photonsim.kernel.random import start

Rays = NDArray[np.float64]


class Film(NamedTuple):
    """A prism film: index, apex angle in degrees, shares; the index of its base, 1 for its own."""

    index: float = 1.586
    apex_deg: float = 90.0
    tip: float = 0.0
    kept: float = 1.0
    base: float = 1.0


@jit
def none_of(states, number):
    """Return what rays carry where no polarisation is followed."""


@jit
def state_of(states, number):
    """Return the light of a ray, from states [n, 3] of Q, U and V."""
    return Light(states[number, 0], states[number, 1], states[number, 2], short(1))


@jit
def keep(states, number, light):
    """Write the light of a ray to its row, if it has one."""
    if light is not None:
        states[number, 0], states[number, 1], states[number, 2] = light.q, light.u, light.v


def crossing(name: str, light_of: Any) -> Entry:
    """Return what replaces rays [n, 3] (across, along, away from the substrate) by what leaves.

    So it does with the states of their light, in the level frame of the film.
    """

    def cross(rays, states, cosine, sine, tip, kept, index, base, seed, outcomes):
        for number in range(rays.shape[0]):
            rng = start(seed, np.uint64(number))
            light = light_of(states, number)
            a, b, c = rays[number, 0], rays[number, 1], rays[number, 2]
            outcomes[number], light, a, b, c, rng = through_film(
                light, a, b, c, cosine, sine, tip, kept, index, base, rng
            )
            rays[number, 0], rays[number, 1], rays[number, 2] = a, b, c
            keep(states, number, light)

    return Entry(name, lambda: cross)


cross_unpolarised = crossing("cross_unpolarised_film", none_of)
cross_polarised = crossing("cross_polarised_film", state_of)


def _sent(
    cross: Entry, film: Film, rays: Rays, states: Rays, seed: int
) -> tuple[NDArray[np.int64], Rays, Rays]:
    out, lights, outcomes = rays.copy(), states.copy(), np.empty(len(rays), dtype=np.int64)
    half = math.radians(film.apex_deg / 2)
    figures = (math.cos(half), math.sin(half), film.tip, film.kept, film.index, film.base)
    cross(out, lights, *figures, np.uint64(seed), outcomes)
    return outcomes, out, lights


def send(film: Film, rays: Rays, seed: int = 5) -> tuple[NDArray[np.int64], Rays]:
    """Return (outcomes [n], directions [n, 3]) of rays [n, 3] sent at a film."""
    return _sent(cross_unpolarised, film, rays, np.empty((0, 3)), seed)[:2]


def send_polarised(
    film: Film, rays: Rays, states: Rays, seed: int = 5
) -> tuple[NDArray[np.int64], Rays, Rays]:
    """Return (outcomes [n], directions [n, 3], states [n, 3]) of polarised rays sent at a film."""
    return _sent(cross_polarised, film, rays, states, seed)


def beam(angle_deg: float, elevation_deg: float, count: int, *, from_flat: bool = True) -> Rays:
    """Return equal rays [count, 3] at an angle across the ridges and an elevation along them."""
    angle, elevation = math.radians(angle_deg), math.radians(elevation_deg)
    across, upright = math.cos(elevation) * math.sin(angle), math.cos(elevation) * math.cos(angle)
    away = upright if from_flat else -upright
    return np.tile([across, math.sin(elevation), away], (count, 1))


def lambertian_rays(count: int, *, from_flat: bool, seed: int) -> Rays:
    """Return rays [count, 3] in Lambertian light: even over the disc of direction cosines."""
    generator = np.random.default_rng(seed)
    squared, turn = generator.random(count), 2.0 * np.pi * generator.random(count)
    radius, upright = np.sqrt(squared), np.sqrt(1.0 - squared)
    away = upright if from_flat else -upright
    return np.stack([radius * np.cos(turn), radius * np.sin(turn), away], axis=1)
