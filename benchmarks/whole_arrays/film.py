"""Prism film for whole arrays: every photon walks the real cross-section, one facet a step.

A ridge is a triangle of film on the substrate, the groove beside it the same triangle of air upside
down. In either `a` runs across the ridges in half pitches and `c` from the triangle's open base to
its apex; the right facet's outward normal is (cos, sin) of half the apex angle in (a, c). A photon
that comes to a base enters the next triangle at a random phase.
"""

from __future__ import annotations

import math

import numpy as np

from benchmarks.whole_arrays.photons import Counted, Mask, Reals, U, V, W, X, Y, keep, reflectance
from photonsim.scene import PrismFilm

A, C, D_A, D_B, D_C = range(5)
Rng = np.random.Generator


class Film:
    """A prism film of sharp ridges, whole or cut to strips at a pitch."""

    def __init__(self, part: PrismFilm, wavelength_nm: float) -> None:
        if part.flat_tip_share or part.absorption_per_pass or part.along_deg:
            raise ValueError("the array tracer knows sharp, clear ridges along x only")
        self.z_mm, self.part, self.index = part.z_mm, part, part.index_at(wavelength_nm)
        half_apex = math.radians(0.5 * part.apex_deg)
        self.cos, self.sin = math.cos(half_apex), math.sin(half_apex)

    def meet(self, photons: Reals, rising: bool, rng: Rng, counted: Counted) -> Reals:
        covered = self._covered(photons)
        met = keep(photons, covered)
        to_ridges = 1.0 if self.part.ridges == "to_screen" else -1.0
        across, along, away = self.cross(met[V], met[U], met[W] * to_ridges, rng)
        met[U], met[V], met[W] = along, across, away * to_ridges
        return met if covered.all() else np.concatenate([keep(photons, ~covered), met], axis=1)

    def _covered(self, photons: Reals) -> Mask:
        strips = self.part.strips
        if strips is None:
            return np.ones(photons.shape[1], dtype=bool)
        if strips.width_mm is None or strips.pitch_mm is None:
            raise ValueError("the array tracer knows strips at a pitch only")
        place = photons[X if strips.across == "x" else Y] - (strips.offset_mm or 0.0)
        place = place / strips.pitch_mm + 0.5 * strips.width_mm / strips.pitch_mm
        return np.asarray(place - np.floor(place) < strips.width_mm / strips.pitch_mm)

    def cross(self, d_a: Reals, d_b: Reals, d_c: Reals, rng: Rng) -> tuple[Reals, Reals, Reals]:
        """Return the directions [n] with which photons leave the film; d_c > 0 runs to the ridges.

        A d_c > 0 comes to the flat face from air, a d_c < 0 to the ridges.
        """
        out = np.stack([d_a, d_b, d_c])
        inside = d_c > 0.0
        walking = np.arange(d_c.size)
        # Through the flat face, or back from it.
        share, cos_out = reflectance(np.where(inside, d_c, 1.0), 1.0 / self.index)
        back = inside & (rng.random(d_c.size) < share)
        out[2, back] = -d_c[back]
        scale = np.where(inside, 1.0 / self.index, 1.0)
        state = np.stack([d_a, d_a, d_a * scale, d_b * scale, np.where(inside, cos_out, -d_c)])
        state, inside, walking = keep(state, ~back), inside[~back], walking[~back]
        self._enter(state, rng)
        while walking.size:
            state, inside, walking = self._step(state, inside, walking, out, rng)
        return out[0], out[1], out[2]

    @staticmethod
    def _enter(state: Reals, rng: Rng) -> None:
        state[A] = 2.0 * rng.random(state.shape[1]) - 1.0
        state[C] = 0.0

    def _step(
        self, state: Reals, inside: Mask, walking: np.ndarray, out: Reals, rng: Rng
    ) -> tuple[Reals, Mask, np.ndarray]:
        """Move every photon to the next side of its triangle and let it meet that."""
        a, c, d_a, _, d_c = state
        right = d_a * self.cos + d_c * self.sin
        left = d_c * self.sin - d_a * self.cos
        with np.errstate(divide="ignore", invalid="ignore"):
            to_base = np.where(d_c < 0.0, -c / d_c, np.inf)
            to_right = np.where(right > 0.0, ((1.0 - a) * self.cos - c * self.sin) / right, np.inf)
            to_left = np.where(left > 0.0, ((1.0 + a) * self.cos - c * self.sin) / left, np.inf)
        to_facet = np.minimum(to_right, to_left)
        distance = np.maximum(np.minimum(to_base, to_facet), 0.0)
        state[A] += distance * d_a
        state[C] += distance * d_c
        at_base = to_base <= to_facet
        at_right = to_right < to_left
        through_substrate = self._meet_base(state, inside, at_base, walking, out, rng)
        facet = ~at_base
        self._meet_facet(state, inside, facet, at_right, rng)
        left_over = facet | through_substrate
        return keep(state, left_over), inside[left_over], walking[left_over]

    def _meet_base(
        self, state: Reals, inside: Mask, at_base: Mask, walking: np.ndarray, out: Reals, rng: Rng
    ) -> Mask:
        """Let photons out, or back from the flat face; return which of them walk on."""
        below = np.flatnonzero(at_base & inside)
        above = np.flatnonzero(at_base & ~inside)
        out[:, walking[above]] = state[D_A, above], state[D_B, above], -state[D_C, above]
        share, cos_out = reflectance(-state[D_C, below], self.index)
        back = rng.random(below.size) < share
        leaves = below[~back]
        out[:, walking[leaves]] = (
            state[D_A, leaves] * self.index,
            state[D_B, leaves] * self.index,
            -cos_out[~back],
        )
        again = np.zeros(len(inside), dtype=bool)
        returned = below[back]
        again[returned] = True
        state[D_C, returned] *= -1.0
        state[A, returned] = 2.0 * rng.random(returned.size) - 1.0
        state[C, returned] = 0.0
        return again

    def _meet_facet(
        self, state: Reals, inside: Mask, facet: Mask, at_right: Mask, rng: Rng
    ) -> None:
        """Reflect photons at their facets, or refract them into the neighbouring triangle."""
        place = np.flatnonzero(facet)
        a, c, d_a, d_b, d_c = state.take(place, axis=1)
        sign = np.where(at_right[place], 1.0, -1.0)
        n_a = sign * self.cos
        cos_in = d_a * n_a + d_c * self.sin
        within = inside[place]
        eta = np.where(within, self.index, 1.0 / self.index)
        share, cos_out = reflectance(cos_in, eta)
        back = rng.random(place.size) < share
        bend = np.where(back, -2.0 * cos_in, cos_out - eta * cos_in)
        scale = np.where(back, 1.0, eta)
        d_a = scale * d_a + bend * n_a
        d_c = scale * d_c + bend * self.sin
        state[A, place] = np.where(back, a, a - sign)
        state[C, place] = np.where(back, c, self.cos / self.sin - c)
        state[D_A, place] = d_a
        state[D_B, place] = scale * d_b
        state[D_C, place] = np.where(back, d_c, -d_c)
        inside[place] = within == back
