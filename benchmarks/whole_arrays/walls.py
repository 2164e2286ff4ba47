"""The four upright walls of the housing, met by a whole array of photons on their way."""

from __future__ import annotations

import numpy as np

from benchmarks.whole_arrays.photons import (
    Counted,
    Mask,
    Reals,
    U,
    V,
    W,
    X,
    Y,
    Z,
    keep,
    lambertian,
    uniforms,
)
from photonsim.scene import Housing


class Walls:
    """Walls of one reflectance from the base to the housing's mouth."""

    def __init__(self, housing: Housing) -> None:
        walls = housing.walls
        if walls is None or walls.taper_deg or housing.wall_range_mm != (0.0, housing.depth_mm):
            raise ValueError("the array tracer knows upright walls over the whole depth only")
        self.half_x, self.half_y = 0.5 * housing.width_mm, 0.5 * housing.height_mm
        self.reflectance = walls.reflectance
        self.mirrored = walls.reflectance * walls.specular_share

    def within(self, x: Reals, y: Reals) -> Mask:
        """Tell which points lie inside the housing's opening."""
        return np.asarray((np.abs(x) <= self.half_x) & (np.abs(y) <= self.half_y))

    def meet(self, photons: Reals, rng: np.random.Generator, counted: Counted) -> Reals:
        """Move photons from inside to the wall ahead of them; return those that it reflects."""
        number = uniforms(rng, photons)
        alive = number < self.reflectance
        counted.fates["absorbed by walls"] += int((~alive).sum())
        photons, number = keep(photons, alive), number[alive]
        if not number.size:
            return photons
        with np.errstate(divide="ignore"):
            to_x = (np.copysign(self.half_x, photons[U]) - photons[X]) / photons[U]
            to_y = (np.copysign(self.half_y, photons[V]) - photons[Y]) / photons[V]
        at_x = to_x < to_y
        photons[X : Z + 1] += np.maximum(np.minimum(to_x, to_y), 0.0) * photons[U : W + 1]
        along, rising, inwards = lambertian(rng, number.size)
        across = np.where(at_x, photons[U], photons[V])
        inwards *= -np.sign(across)
        mirrors = number < self.mirrored
        photons[W] = np.where(mirrors, photons[W], rising)
        photons[U] = np.where(
            mirrors, np.where(at_x, -photons[U], photons[U]), np.where(at_x, inwards, along)
        )
        photons[V] = np.where(
            mirrors, np.where(at_x, photons[V], -photons[V]), np.where(at_x, along, inwards)
        )
        return photons
