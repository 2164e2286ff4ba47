"""Rays without chance: bundles from the panel through everything behind it, in whole arrays.

Nothing reflects and nothing is lost but at rims: these rays say where the kernel should look for
light on the screen, not how much of it there is.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Reals
from photonsim.kernel import codes
from photonsim.program.program import Program


class Bundle(NamedTuple):
    """Rays [n]: places [n, 3] in mm, unit directions [n, 3] and whether a ray is still alive."""

    place: Reals
    direction: Reals
    alive: NDArray[np.bool_]

    def at(self, z: float) -> Reals:
        """Return where the rays cross the plane at z, [n, 2] in mm."""
        way = (z - self.place[:, 2]) / self.direction[:, 2]
        return self.place[:, :2] + way[:, None] * self.direction[:, :2]

    @property
    def slopes(self) -> Reals:
        """Return dx/dz and dy/dz, [n, 2]."""
        return self.direction[:, :2] / self.direction[:, 2:]


def leave_panel(program: Program, points: Reals, slopes: Reals) -> Bundle:
    """Return rays that leave panel points [n, 2] in mm with slopes [n, 2]."""
    z = np.full(len(points), program.layer_z[_panel(program)])
    direction = np.column_stack([slopes, np.ones(len(slopes))])
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    return Bundle(np.column_stack([points, z]), direction, np.ones(len(points), dtype=bool))


def trace_up(
    program: Program, rays: Bundle, wavelength: int, rims: bool = True
) -> tuple[Bundle, Reals]:
    """Follow rays to the end of the train; return them and where they cross the stop, [n, 2] mm.

    `wavelength` is the number of one of the scene's. Without `rims`, rays also go on outside the
    lenses, as far as the faces reach.
    """
    at_stop = np.full((len(rays.place), 2), np.nan)
    for layer in range(_panel(program) + 1, len(program.layer_kind)):
        kind = int(program.layer_kind[layer])
        step = _STEPS.get(kind)
        if kind == codes.STOP:
            at_stop = rays.at(program.layer_z[layer])
        if step is None:
            continue
        with np.errstate(invalid="ignore", divide="ignore"):
            rays = step(program, layer, wavelength, rays)
            squared = (rays.place[:, :2] ** 2).sum(axis=1)
            inside = squared <= program.layer_real[layer, codes.RADIUS_SQUARED]
            sound = np.isfinite(rays.direction).all(axis=1) & (rays.direction[:, 2] > 0.0)
        alive = rays.alive & sound & (inside if rims else True)
        # What is lost goes on along the axis, so that no later step meets nonsense.
        place = np.where(sound[:, None], rays.place, [0.0, 0.0, program.layer_z[layer]])
        direction = np.where(sound[:, None], rays.direction, [0.0, 0.0, 1.0])
        rays = Bundle(place, direction, alive)
    return rays, at_stop


def _panel(program: Program) -> int:
    return int(np.flatnonzero(program.layer_kind == codes.PANEL)[0])


def _moved_to(program: Program, layer: int, rays: Bundle) -> Reals:
    z = float(program.layer_z[layer])
    return np.column_stack([rays.at(z), np.full(len(rays.place), z)])


def _stop(program: Program, layer: int, wavelength: int, rays: Bundle) -> Bundle:
    return rays._replace(place=_moved_to(program, layer, rays))


def _ideal_lens(program: Program, layer: int, wavelength: int, rays: Bundle) -> Bundle:
    place = _moved_to(program, layer, rays)
    squared = (place[:, :2] ** 2).sum(axis=1)
    pull = np.zeros(len(place))
    for column in (codes.LENS_NEAR, codes.LENS_FAR):
        if conjugate := program.layer_real[layer, column]:
            pull += np.sign(conjugate) / np.sqrt(squared + conjugate**2)
    across = rays.direction[:, :2] - pull[:, None] * place[:, :2]
    return Bundle(place, _with_rest(across), rays.alive)


def _face(program: Program, layer: int, wavelength: int, rays: Bundle) -> Bundle:
    place = _moved_to(program, layer, rays)
    curvature = program.layer_real[layer, codes.FACE_CURVATURE]
    conic = program.layer_real[layer, codes.FACE_CONIC]
    d = rays.direction
    # c (x**2 + y**2 + (1 + k) z**2) = 2 z along the ray, solved for the way from the vertex plane.
    square = curvature * (1.0 + conic * d[:, 2] ** 2)
    half = curvature * (place[:, :2] * d[:, :2]).sum(axis=1) - d[:, 2]
    rest = curvature * (place[:, :2] ** 2).sum(axis=1)
    way = rest / (np.sqrt(half**2 - square * rest) - half)
    place = place + way[:, None] * d
    height = place[:, 2] - program.layer_z[layer]
    normal = np.column_stack([-curvature * place[:, :2], 1.0 - curvature * (1.0 + conic) * height])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    eta = program.layer_index_below[layer, wavelength] / program.layer_index[layer, wavelength]
    return Bundle(place, _refracted(d, normal, eta), rays.alive)


def _fresnel_lens(program: Program, layer: int, wavelength: int, rays: Bundle) -> Bundle:
    place = _moved_to(program, layer, rays)
    first, count = (program.layer_whole[layer, k] for k in (codes.TABLE_FIRST, codes.TABLE_COUNT))
    radius = np.hypot(place[:, 0], place[:, 1])
    steps = radius * program.layer_real[layer, codes.GROOVES_PER_STEP]
    tangent = np.interp(steps, np.arange(count), program.tables[first : first + count])
    index = program.layer_index[layer, wavelength]
    outward = place[:, :2] / np.maximum(radius, 1e-300)[:, None]
    to_screen = program.layer_real[layer, codes.GROOVES_SIDE] > 0.0
    # The facet's normal, towards the screen: it leans outwards where the grooves face the screen.
    lean = (tangent if to_screen else -tangent)[:, None] * outward
    facet = np.column_stack([lean, np.ones(len(place))])
    facet /= np.linalg.norm(facet, axis=1, keepdims=True)
    flat = np.broadcast_to([0.0, 0.0, 1.0], facet.shape)
    direction = rays.direction
    order = (flat, facet) if to_screen else (facet, flat)
    for normal, eta in zip(order, (1.0 / index, index), strict=True):
        direction = _refracted(direction, normal, eta)
    return Bundle(place, direction, rays.alive)


def _refracted(direction: Reals, normal: Reals, eta: float) -> Reals:
    """Return directions [n, 3] behind a face, by Snell's law with the ratio of indices `eta`."""
    cosine = (direction * normal).sum(axis=1)
    bend = np.sqrt(1.0 - eta**2 * (1.0 - cosine**2)) - eta * cosine
    return eta * direction + bend[:, None] * normal


def _with_rest(across: Reals) -> Reals:
    return np.column_stack([across, np.sqrt(1.0 - (across**2).sum(axis=1))])


_STEPS: dict[int, Callable[[Program, int, int, Any], Bundle]] = {
    codes.IDEAL_LENS: _ideal_lens,
    codes.LENS_FACE: _face,
    codes.FRESNEL_LENS: _fresnel_lens,
    codes.STOP: _stop,
}
