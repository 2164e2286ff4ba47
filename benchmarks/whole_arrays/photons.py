"""Photons as columns of one array, what is counted of them, and how surfaces throw them."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Mask = NDArray[np.bool_]

# Rows of a photon array: place in mm, direction cosines, and where on the panel's pixels a photon
# last arrived from the lamp (nan: not yet).
X, Y, Z, U, V, W, PANEL_X, PANEL_Y = range(8)
ROWS = 8


@dataclass
class Counted:
    """What is counted: photons, events, fates by name, and maps of the panel [rows, columns]."""

    panel_shape: tuple[int, int]
    photons: int = 0
    events: int = 0
    fates: Counter[str] = field(default_factory=Counter)
    incident: NDArray[np.int64] = field(init=False)
    collected: NDArray[np.int64] = field(init=False)

    def __post_init__(self) -> None:
        self.incident = np.zeros(self.panel_shape, np.int64)
        self.collected = np.zeros(self.panel_shape, np.int64)

    def add(self, other: Counted) -> None:
        """Add what was counted of other photons of the same lamp."""
        self.photons += other.photons
        self.events += other.events
        self.fates.update(other.fates)
        self.incident += other.incident
        self.collected += other.collected


def keep(photons: Reals, mask: Mask) -> Reals:
    """Return the photons [ROWS, n] that a mask picks; whole arrays are handed on uncopied."""
    return photons if mask.all() else photons.compress(mask, axis=1)


def uniforms(rng: np.random.Generator, photons: Reals) -> Reals:
    """Return one random number in [0, 1) for each photon."""
    return rng.random(size=int(photons.shape[1]))


def lambertian(rng: np.random.Generator, count: int) -> tuple[Reals, Reals, Reals]:
    """Return direction cosines [count] of Lambertian light about the third axis."""
    squared = rng.random(count)
    turn = rng.random(count)
    turn *= 2.0 * np.pi
    radius = np.sqrt(squared)
    return radius * np.cos(turn), radius * np.sin(turn), np.sqrt(1.0 - squared)


def reflectance(cos_in: Reals, eta: Reals | float) -> tuple[Reals, Reals]:
    """Return (reflectance, cosine of refraction) of unpolarised light; (1, 0) if totally reflected.

    `eta` is the index before over that behind (Hecht, Optics, section 4.6).
    """
    squared = 1.0 - eta * eta * (1.0 - cos_in * cos_in)
    cos_out = np.sqrt(np.maximum(squared, 0.0))
    s_wave = (eta * cos_in - cos_out) / (eta * cos_in + cos_out)
    p_wave = (cos_in - eta * cos_out) / (cos_in + eta * cos_out)
    share = 0.5 * (s_wave * s_wave + p_wave * p_wave)
    share[squared <= 0.0] = 1.0
    return share, cos_out
