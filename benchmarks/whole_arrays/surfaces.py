"""Opaque surfaces and empty planes, met by a whole array of photons that go the same way.

`meet` owns the array it is given and may write to it. It returns the photons that live on,
whichever way they go then, and counts the fates of the others.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from benchmarks.whole_arrays.photons import (
    PANEL_X,
    PANEL_Y,
    Counted,
    Mask,
    Reals,
    U,
    V,
    W,
    X,
    Y,
    keep,
    lambertian,
    uniforms,
)
from photonsim.scene import Emitter, Housing, Panel

Rng = np.random.Generator


class Layer(Protocol):
    """A plane of the stack at z_mm."""

    z_mm: float

    def meet(self, photons: Reals, rising: bool, rng: Rng, counted: Counted) -> Reals: ...


class Surface:
    """A level opaque surface: reflects a share of the light, part of that like a mirror."""

    def __init__(self, z_mm: float, name: str, reflectance: float, specular_share: float) -> None:
        self.z_mm, self.fate = z_mm, f"absorbed by {name}"
        self.reflectance, self.mirrored = reflectance, reflectance * specular_share

    def meet(self, photons: Reals, rising: bool, rng: Rng, counted: Counted) -> Reals:
        number = uniforms(rng, photons)
        alive = number < self.reflectance
        thrown = keep(photons, alive)
        counted.fates[self.fate] += photons.shape[1] - thrown.shape[1]
        u, v, w = lambertian(rng, thrown.shape[1])
        if rising:
            np.negative(w, out=w)
        mirrored = number[alive] < self.mirrored
        if mirrored.any():
            u = np.where(mirrored, thrown[U], u)
            v = np.where(mirrored, thrown[V], v)
            w = np.where(mirrored, -thrown[W], w)
        thrown[U], thrown[V], thrown[W] = u, v, w
        return thrown


class Faces(Surface):
    """The plane of a group of rectangular emitters: their faces reflect, light passes between."""

    def __init__(self, name: str, group: Emitter) -> None:
        super().__init__(group.z_mm, name, group.reflectance, group.specular_share)
        self.group = group

    def meet(self, photons: Reals, rising: bool, rng: Rng, counted: Counted) -> Reals:
        half_width, half_height = (0.5 * size for size in self.group.size_mm)
        on_face = _near(photons[X], self.group.columns_mm(), half_width)
        on_face &= _near(photons[Y], self.group.rows_mm(), half_height)
        thrown = super().meet(keep(photons, on_face), rising, rng, counted)
        return np.concatenate([keep(photons, ~on_face), thrown], axis=1)


def _near(place: Reals, centres: list[float], half: float) -> Mask:
    """Tell which places lie within `half` of the nearest of evenly spaced centres, all in mm."""
    pitch = centres[1] - centres[0] if len(centres) > 1 else 1.0
    number = np.rint((place - centres[0]) / pitch).clip(0, len(centres) - 1)
    return np.asarray(np.abs(place - centres[0] - number * pitch) <= half)


class Opening:
    """The housing's mouth: light that comes down to it beside the housing has escaped."""

    def __init__(self, housing: Housing) -> None:
        self.z_mm = housing.depth_mm
        self.half_x, self.half_y = 0.5 * housing.width_mm, 0.5 * housing.height_mm

    def meet(self, photons: Reals, rising: bool, rng: Rng, counted: Counted) -> Reals:
        if rising:
            return photons
        inside = (np.abs(photons[X]) <= self.half_x) & (np.abs(photons[Y]) <= self.half_y)
        counted.fates["escaped outside the housing's mouth"] += int((~inside).sum())
        return keep(photons, inside)


class PanelPlane:
    """The panel: pixels that light crosses, an opaque frame, and nothing beside it.

    The first crossing of the pixels is free, their transmittance being a factor on the result; any
    further one is played.
    """

    def __init__(self, name: str, panel: Panel) -> None:
        self.z_mm, self.name, self.panel = panel.z_mm, name, panel
        self.frame = Surface(panel.z_mm, name, panel.frame_reflectance, 0.0)

    def meet(self, photons: Reals, rising: bool, rng: Rng, counted: Counted) -> Reals:
        panel = self.panel
        across, up = np.abs(photons[X]), np.abs(photons[Y])
        on_pixels = across < 0.5 * panel.active_width_mm
        on_pixels &= up < 0.5 * panel.active_height_mm
        beside = (across > 0.5 * panel.outer_width_mm) | (up > 0.5 * panel.outer_height_mm)
        counted.fates[f"escaped past {self.name}"] += int(beside.sum())
        thrown = self.frame.meet(keep(photons, ~(on_pixels | beside)), rising, rng, counted)
        crossing = self._cross(keep(photons, on_pixels), rising, rng, counted)
        return np.concatenate([crossing, thrown], axis=1)

    def _cross(self, photons: Reals, rising: bool, rng: Rng, counted: Counted) -> Reals:
        again = ~np.isnan(photons[PANEL_X])
        if rising:
            # A photon is counted once, where it last arrived.
            counted.incident -= self.map_of(keep(photons, again))
            photons[PANEL_X], photons[PANEL_Y] = photons[X], photons[Y]
            counted.incident += self.map_of(photons)
        if not again.any():
            return photons
        alive = ~again | (rng.random(len(again)) < self.panel.transmittance)
        counted.fates[f"absorbed by {self.name}"] += int((~alive).sum())
        return keep(photons, alive)

    def map_of(self, photons: Reals) -> NDArray[np.int64]:
        """Return photons by pixel [rows, columns], where they last arrived."""
        panel = self.panel
        column = _pixel(photons[PANEL_X], panel.active_width_mm, panel.columns)
        row = _pixel(photons[PANEL_Y], panel.active_height_mm, panel.rows)
        counts = np.bincount(row * panel.columns + column, minlength=panel.rows * panel.columns)
        return counts.reshape(panel.rows, panel.columns)


def _pixel(place: Reals, size: float, count: int) -> NDArray[np.int64]:
    return np.minimum(((place / size + 0.5) * count).astype(np.int64), count - 1)


class Stop:
    """The hole that decides; `diameter_mm` across."""

    def __init__(self, z_mm: float, name: str, diameter_mm: float) -> None:
        self.z_mm, self.fate, self.diameter_mm = z_mm, f"stopped by rim of {name}", diameter_mm

    def meet(self, photons: Reals, rising: bool, rng: Rng, counted: Counted) -> Reals:
        through = photons[X] ** 2 + photons[Y] ** 2 <= 0.25 * self.diameter_mm**2
        counted.fates[self.fate] += int((~through).sum())
        return keep(photons, through)
