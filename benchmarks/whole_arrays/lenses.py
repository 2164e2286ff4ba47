"""Lenses for whole arrays: the ideal one and the faces of real ones."""

from __future__ import annotations

import numpy as np

from benchmarks.whole_arrays.photons import (
    Counted,
    Reals,
    U,
    V,
    W,
    X,
    Y,
    Z,
    keep,
    reflectance,
    uniforms,
)
from benchmarks.whole_arrays.surfaces import Stop
from photonsim.scene import IdealLens

Rng = np.random.Generator


class Ideal:
    """A thin lens that kicks the direction cosines: p' = p - x (1/sqrt(r² + a²) + ...)."""

    def __init__(self, name: str, part: IdealLens, before_panel: bool) -> None:
        self.z_mm, self.fate = part.z_mm, f"absorbed by {name}"
        self.rim = Stop(part.z_mm, name, part.diameter_mm)
        self.conjugates = [distance for distance in part.conjugates_mm if distance is not None]
        # Behind the panel its transmittance is a factor on the result.
        self.kept = part.transmittance if before_panel else 1.0

    def meet(self, photons: Reals, rising: bool, rng: Rng, counted: Counted) -> Reals:
        photons = self.rim.meet(photons, rising, rng, counted)
        came = photons.shape[1]
        if self.kept < 1.0:
            photons = keep(photons, uniforms(rng, photons) < self.kept)
        squared = photons[X] ** 2 + photons[Y] ** 2
        kick = sum(np.copysign(1.0 / np.sqrt(squared + d * d), d) for d in self.conjugates)
        photons[U] -= kick * photons[X]
        photons[V] -= kick * photons[Y]
        upright = 1.0 - photons[U] ** 2 - photons[V] ** 2
        real = upright > 0.0
        photons, upright = keep(photons, real), upright[real]
        photons[W] = np.sqrt(upright) if rising else -np.sqrt(upright)
        counted.fates[self.fate] += came - photons.shape[1]
        return photons


class Face:
    """A spherical or flat uncoated face of a lens, `curvature` in 1/mm, index before and behind."""

    def __init__(
        self,
        z_mm: float,
        name: str,
        diameter_mm: float,
        curvature: float,
        indices: tuple[float, float],
    ) -> None:
        self.z_mm, self.fate, self.diameter_mm = z_mm, f"stopped by rim of {name}", diameter_mm
        self.curvature, self.indices = curvature, indices

    def meet(self, photons: Reals, rising: bool, rng: Rng, counted: Counted) -> Reals:
        came = photons.shape[1]
        photons = self._reach(photons)
        c = self.curvature
        n_x, n_y = -c * photons[X], -c * photons[Y]
        n_z = np.sqrt(np.maximum(1.0 - n_x * n_x - n_y * n_y, 0.0))
        before, behind = self.indices
        eta = before / behind
        if rising:
            n_x, n_y, n_z = -n_x, -n_y, -n_z
        else:
            eta = behind / before
        cos_in = -(photons[U] * n_x + photons[V] * n_y + photons[W] * n_z)
        share, cos_out = reflectance(np.maximum(cos_in, 0.0), eta)
        back = rng.random(cos_in.size) < share
        bend = np.where(back, 2.0 * cos_in, eta * cos_in - cos_out)
        scale = np.where(back, 1.0, eta)
        photons[U] = scale * photons[U] + bend * n_x
        photons[V] = scale * photons[V] + bend * n_y
        photons[W] = scale * photons[W] + bend * n_z
        goes_on = (cos_in > 0.0) & ((photons[W] > 0.0) == (back != rising))
        photons = keep(photons, goes_on)
        counted.fates[self.fate] += came - photons.shape[1]
        return photons

    def _reach(self, photons: Reals) -> Reals:
        """Return the photons that meet the face within its rim, moved there from its vertex plane.

        The face is c r² = 2 z; the root near the vertex is taken without cancellation.
        """
        if self.curvature:
            c = self.curvature
            half = c * (photons[X] * photons[U] + photons[Y] * photons[V]) - photons[W]
            rest = c * (photons[X] ** 2 + photons[Y] ** 2)
            squared = half * half - c * rest
            hits = squared >= 0.0
            photons, half, rest = keep(photons, hits), half[hits], rest[hits]
            distance = rest / (np.copysign(np.sqrt(squared[hits]), photons[W]) - half)
            photons[X : Z + 1] += distance * photons[U : W + 1]
        within = photons[X] ** 2 + photons[Y] ** 2 <= 0.25 * self.diameter_mm**2
        return keep(photons, within)
