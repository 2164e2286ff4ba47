"""Rays sent at a prism film, many at a time, and what comes out."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.kernel.entry import jit_entry
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


@jit_entry
def cross_many(rays, cosine, sine, tip, kept, index, base, seed, outcomes):
    """Replace each ray [n, 3] (across, along, away from the substrate) by what leaves the film."""
    for number in range(rays.shape[0]):
        rng = start(seed, np.uint64(number))
        outcome, _, a, b, c, rng = through_film(
            None,
            rays[number, 0],
            rays[number, 1],
            rays[number, 2],
            cosine,
            sine,
            tip,
            kept,
            index,
            base,
            rng,
        )
        rays[number, 0], rays[number, 1], rays[number, 2] = a, b, c
        outcomes[number] = outcome


def send(film: Film, rays: Rays, seed: int = 5) -> tuple[NDArray[np.int64], Rays]:
    """Return (outcomes [n], directions [n, 3]) of rays [n, 3] sent at a film."""
    out, outcomes = rays.copy(), np.empty(len(rays), dtype=np.int64)
    half = math.radians(film.apex_deg / 2)
    figures = (math.cos(half), math.sin(half), film.tip, film.kept, film.index, film.base)
    cross_many(out, *figures, np.uint64(seed), outcomes)
    return outcomes, out


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


@jit_entry
def cross_polarised(rays, states, cosine, sine, tip, kept, index, base, seed, outcomes):
    """Replace each ray and its state [n, 3], in the level frame of the film, as cross_many does."""
    for number in range(rays.shape[0]):
        rng = start(seed, np.uint64(number))
        light = Light(states[number, 0], states[number, 1], states[number, 2], short(1))
        outcome, light, a, b, c, rng = through_film(
            light,
            rays[number, 0],
            rays[number, 1],
            rays[number, 2],
            cosine,
            sine,
            tip,
            kept,
            index,
            base,
            rng,
        )
        rays[number, 0], rays[number, 1], rays[number, 2] = a, b, c
        states[number, 0], states[number, 1], states[number, 2] = light.q, light.u, light.v
        outcomes[number] = outcome


def send_polarised(
    film: Film, rays: Rays, states: Rays, seed: int = 5
) -> tuple[NDArray[np.int64], Rays, Rays]:
    """Return (outcomes [n], directions [n, 3], states [n, 3]) of polarised rays sent at a film."""
    out, lights, outcomes = rays.copy(), states.copy(), np.empty(len(rays), dtype=np.int64)
    half = math.radians(film.apex_deg / 2)
    figures = (math.cos(half), math.sin(half), film.tip, film.kept, film.index, film.base)
    cross_polarised(out, lights, *figures, np.uint64(seed), outcomes)
    return outcomes, out, lights
