"""Rays without chance: bundles from the panel through everything behind it, in whole arrays.

Nothing reflects and nothing is lost but at rims; that of a rectangular sheet is taken as the circle
around it. These rays say where the kernel should look for light on the screen, not how much of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

import numpy as np

from photonsim.arrays import Flags, Reals
from photonsim.kernel import codes
from photonsim.program.program import Program


class Surface(NamedTuple):
    """What bends or bounds light behind the panel, in plain numbers, so that it can be a key.

    `shape` holds what a kind needs besides: a face its curvature and conic; an ideal lens its
    conjugates, 0 for infinity; a Fresnel lens +1 where grooves face the screen, else -1, and steps
    of `facets` per mm. Refractive indices by wavelength; `facets` are tangents of tilts by radius.
    """

    kind: int
    z: float
    radius_squared: float
    shape: tuple[float, ...] = ()
    indices: tuple[float, ...] = ()
    indices_below: tuple[float, ...] = ()
    facets: tuple[float, ...] = ()


class Bundle(NamedTuple):
    """Rays [n]: places x, y, z in mm and unit directions u, v, w."""

    x: Reals
    y: Reals
    z: Reals
    u: Reals
    v: Reals
    w: Reals

    def moved_to(self, z: float) -> Bundle:
        """Return the rays where they cross the plane at z."""
        way = (z - self.z) / self.w
        flat = np.full(len(way), z)
        return self._replace(x=self.x + way * self.u, y=self.y + way * self.v, z=flat)


def leave_panel(z: float, x: Reals, y: Reals, slope_x: Reals, slope_y: Reals) -> Bundle:
    """Return rays that leave points of the panel at z with slopes dx/dz and dy/dz."""
    w = 1.0 / np.sqrt(1.0 + slope_x * slope_x + slope_y * slope_y)
    return Bundle(x, y, np.full(len(x), z), slope_x * w, slope_y * w, w)


def trace_up(
    surfaces: Iterable[Surface], wavelength: int, rays: Bundle
) -> tuple[Bundle, Flags, Reals]:
    """Follow rays to the end of the train; return them, which met no rim, and places at the stop.

    Places are [2, n] in mm. Rays outside a rim go on as far as its surface reaches. `wavelength` is
    the number of one of the scene's.
    """
    passed = np.ones(len(rays.x), dtype=bool)
    at_stop = np.full((2, len(rays.x)), np.nan)
    for surface in surfaces:
        rays = rays.moved_to(surface.z)
        if surface.kind == codes.STOP:
            at_stop = np.stack([rays.x, rays.y])
        rays = STEPS[surface.kind](surface, wavelength, rays)
        passed &= rays.x * rays.x + rays.y * rays.y <= surface.radius_squared
        sound = np.isfinite(rays.u + rays.v + rays.w) & (rays.w > 0.0)
        if not sound.all():
            # What is lost goes on along the axis, so that no later step meets nonsense.
            passed &= sound
            axis = (0.0, 0.0, surface.z, 0.0, 0.0, 1.0)
            rays = Bundle(*(np.where(sound, *each) for each in zip(rays, axis, strict=True)))
    return rays, passed, at_stop


def _stop(surface: Surface, wavelength: int, rays: Bundle) -> Bundle:
    return rays


def _ideal_lens(surface: Surface, wavelength: int, rays: Bundle) -> Bundle:
    squared = rays.x * rays.x + rays.y * rays.y
    pull = np.zeros(len(squared))
    for conjugate in surface.shape:
        if conjugate:
            pull += np.sign(conjugate) / np.sqrt(squared + conjugate**2)
    u, v = rays.u - pull * rays.x, rays.v - pull * rays.y
    return rays._replace(u=u, v=v, w=np.sqrt(1.0 - u * u - v * v))


def _face(surface: Surface, wavelength: int, rays: Bundle) -> Bundle:
    x, y, z, u, v, w = rays
    curvature, conic = surface.shape
    # c (x**2 + y**2 + (1 + k) z**2) = 2 z along the ray, solved for the way from the vertex plane.
    square = curvature * (1.0 + conic * w * w)
    half = curvature * (x * u + y * v) - w
    rest = curvature * (x * x + y * y)
    way = rest / (np.sqrt(half * half - square * rest) - half)
    x, y, z = x + way * u, y + way * v, z + way * w
    normal_w = 1.0 - curvature * (1.0 + conic) * (z - surface.z)
    eta = surface.indices_below[wavelength] / surface.indices[wavelength]
    rays = Bundle(x, y, z, u, v, w)
    return _refracted(rays, eta, -curvature * x, -curvature * y, normal_w)


def _fresnel_lens(surface: Surface, wavelength: int, rays: Bundle) -> Bundle:
    to_screen, steps_per_mm = surface.shape
    radius = np.sqrt(rays.x * rays.x + rays.y * rays.y)
    tangent = np.interp(radius * steps_per_mm, np.arange(len(surface.facets)), surface.facets)
    index = surface.indices[wavelength]
    # The facet's normal, towards the screen: it leans outwards where the grooves face the screen.
    lean = to_screen * tangent / np.maximum(radius, 1e-300)
    flat, facet = (0.0, 0.0), (lean * rays.x, lean * rays.y)
    below, above = (flat, facet) if to_screen > 0.0 else (facet, flat)
    rays = _refracted(rays, 1.0 / index, *below)
    return _refracted(rays, index, *above)


def _refracted(
    rays: Bundle,
    eta: float,
    normal_u: Reals | float,
    normal_v: Reals | float,
    normal_w: Reals | float = 1.0,
) -> Bundle:
    """Return rays after Snell's law, `eta` the index before over that behind a surface.

    In vectors, d' = eta d + (sqrt(1 - eta**2 (1 - c**2)) - eta c) n with c = d n and a unit normal
    n; the given one is made of unit length here.
    """
    squared = normal_u * normal_u + normal_v * normal_v + normal_w * normal_w
    per_length = 1.0 / np.sqrt(squared)
    cosine = (rays.u * normal_u + rays.v * normal_v + rays.w * normal_w) * per_length
    bend = (np.sqrt(1.0 - eta**2 * (1.0 - cosine * cosine)) - eta * cosine) * per_length
    return rays._replace(
        u=eta * rays.u + bend * normal_u,
        v=eta * rays.v + bend * normal_v,
        w=eta * rays.w + bend * normal_w,
    )


def surfaces_behind(program: Program) -> tuple[Surface, ...]:
    """Return what bends or bounds light behind the panel of a program, in order."""
    kinds = program.layer_kind.tolist()
    behind = range(kinds.index(codes.PANEL) + 1, len(kinds))
    return tuple(_surface(program, layer) for layer in behind if kinds[layer] in STEPS)


def _surface(program: Program, layer: int) -> Surface:
    kind = int(program.layer_kind[layer])
    real = program.layer_real[layer]
    facets = slice(0)
    if kind == codes.FRESNEL_LENS:
        first, count = program.layer_whole[layer, [codes.TABLE_FIRST, codes.TABLE_COUNT]]
        facets = slice(first, first + count)
    return Surface(
        kind,
        float(program.layer_z[layer]),
        float(real[codes.RADIUS_SQUARED]),
        tuple(real[list(SHAPES.get(kind, ()))].tolist()),
        tuple(program.layer_index[layer].tolist()),
        tuple(program.layer_index_below[layer].tolist()),
        tuple(program.tables[facets].tolist()),
    )


# By kinds of layer: those without an entry let light through as it comes.
STEPS: dict[int, Callable[[Surface, int, Bundle], Bundle]] = {
    codes.IDEAL_LENS: _ideal_lens,
    codes.LENS_FACE: _face,
    codes.FRESNEL_LENS: _fresnel_lens,
    codes.STOP: _stop,
}
# The columns of Program.layer_real that are a surface's shape.
SHAPES = {
    codes.IDEAL_LENS: (codes.LENS_NEAR, codes.LENS_FAR),
    codes.LENS_FACE: (codes.FACE_CURVATURE, codes.FACE_CONIC),
    codes.FRESNEL_LENS: (codes.GROOVES_SIDE, codes.GROOVES_PER_STEP),
}
