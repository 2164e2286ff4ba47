"""Where light should land on the screen: the chief ray of every panel point, and how far it strays.

All parts behind the panel are centred on the axis, so the chief ray of the panel point p, the one
through the middle of the stop, lands at p times a polynomial in p**2, and so does its slope.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Flags, Reals
from photonsim.kernel import codes
from photonsim.kernel.tallies import CELLS, SPOT_BINS
from photonsim.program.program import Program
from photonsim.program.rays import Bundle, Surface, leave_panel, surfaces_behind, trace_up
from photonsim.scene import Scene, follow

# Terms of 1, p**2, p**4, p**6: a lens with a few per cent of distortion is followed to 1e-4 pixels.
TERMS = codes.SCREEN_TERMS
RADII = 24
ACROSS_STOP = 9
MIDDLE_OF_STOP = 0
# Rays between those tried go a little farther; what lands beyond this has been reflected by glass.
ROOM = 1.1
# A ray is aimed when it crosses the stop so near to where it should, in mm.
AIMED_MM = 1e-10
MISSED_MM = 1e-3
MOST_STEPS = 12
# To so many digits of the panel's corner: what libraries of linear algebra do otherwise on another
# processor is smaller, so that all count in the same bins.
DIGITS = 10


class Imaging(NamedTuple):
    """All that the places of chief rays follow from, in mm; hashable, and nothing before the panel.

    A ray that leaves the panel's point p with slope s crosses the stop at about `a` p + `b` s.
    """

    panel_z: float
    width: float
    height: float
    pixel: float
    stop_diameter: float
    a: float
    b: float
    screen_z: float
    magnification: float
    throw: float
    wavelengths: int
    surfaces: tuple[Surface, ...]

    @property
    def corner(self) -> float:
        """The distance of the panel's corners from the axis."""
        return float(0.5 * np.hypot(self.width, self.height))


def with_screen(program: Program, scene: Scene) -> Program:
    """Return a program with its entries `screen` and `spot_per_mm`.

    Without a screen all are 0, and entry SCREEN_ON says so.
    """
    projection = scene.projection
    if projection is None:
        return program
    panel, stop = scene.panel, scene.stop
    bends = [bend for bend in scene.bends() if panel.z_mm <= bend.z_mm <= stop.z_mm]
    imaging = Imaging(
        panel_z=panel.z_mm,
        width=panel.active_width_mm,
        height=panel.active_height_mm,
        pixel=panel.active_width_mm / panel.columns,
        stop_diameter=stop.diameter_mm,
        a=follow(1.0, 0.0, panel.z_mm, stop.z_mm, bends)[0],
        b=follow(0.0, 1.0, panel.z_mm, stop.z_mm, bends)[0],
        screen_z=projection.screen_mm,
        magnification=projection.magnification,
        throw=projection.throw_mm,
        wavelengths=len(scene.light.wavelengths_nm),
        surfaces=surfaces_behind(program),
    )
    screen, spot_per_mm = screen_arrays(imaging)
    return program._replace(screen=screen.copy(), spot_per_mm=spot_per_mm.copy())


@lru_cache(maxsize=256)
def screen_arrays(imaging: Imaging) -> tuple[Reals, Reals]:
    """Return (entries, bins per mm): Program.screen and Program.spot_per_mm, to be copied.

    Kept, since designs of a study mostly differ before the panel alone.
    """
    entries = np.zeros(codes.SCREEN_ENTRIES)
    entries[codes.SCREEN_ON] = 1.0
    entries[codes.SCREEN_Z] = imaging.screen_z
    entries[codes.SCREEN_PER_MAGNIFICATION] = 1.0 / imaging.magnification
    entries[codes.SCREEN_THROW] = imaging.throw / imaging.magnification
    radii = np.linspace(0.0, imaging.corner, RADII + 1)
    aim = _Aim(imaging, radii)
    # The middle one of the wavelengths is the one that others are compared with.
    middle = imaging.wavelengths // 2
    farthest = np.zeros(len(radii))
    for wavelength in sorted(range(imaging.wavelengths), key=lambda each: abs(each - middle)):
        rays = aim.at(wavelength)
        landed = rays.moved_to(imaging.screen_z)
        x, y = landed.x / imaging.magnification, landed.y / imaging.magnification
        if wavelength == middle:
            slopes = entries[codes.SCREEN_THROW] * rays.u / rays.w
            for first, found in ((codes.SCREEN_PLACE, x), (codes.SCREEN_SLOPE, slopes)):
                chief = aim.by_radius(found)[:, MIDDLE_OF_STOP]
                entries[first : first + TERMS] = _even_terms(radii[1:], chief[1:])
            place = entries[codes.SCREEN_PLACE : codes.SCREEN_PLACE + TERMS]
            x_of_chief = np.repeat(_at_radii(place, radii), len(aim.holes))
        off = aim.by_radius(np.hypot(x - x_of_chief, y))
        farthest = np.fmax(farthest, np.fmax.reduce(off, axis=1))
    most = [farthest[near].max() for near in _reach(imaging, radii)]
    half_mm = np.clip(ROOM * np.array(most), imaging.pixel, codes.FARTHEST_MM)
    spot_per_mm = 0.5 * SPOT_BINS / np.round(half_mm, DIGITS)
    return entries, spot_per_mm


def _at_radii(terms: Reals, radii: Reals) -> Reals:
    """Return r (a + b r**2 + ...) at some radii r."""
    return np.asarray(radii * np.polyval(terms[::-1], radii * radii))


def _even_terms(radii: Reals, found: Reals) -> Reals:
    """Return the coefficients of found = r (a + b r**2 + ...), least squares of what is finite."""
    good = np.isfinite(found)
    radii, found = radii[good], found[good]
    terms = np.zeros(TERMS)
    count = min(TERMS, len(radii))
    if count:
        scale = radii[-1]
        basis = (radii / scale)[:, None] ** (2 * np.arange(count))
        fitted, *_ = np.linalg.lstsq(basis, found / radii, rcond=None)
        terms[:count] = np.round(fitted, DIGITS) / scale ** (2 * np.arange(count))
    return terms


def _reach(imaging: Imaging, radii: Reals) -> list[Flags]:
    """Return, for each cell, which of `radii` it spans, and those next to them."""
    step = radii[1]
    edges = np.abs(np.arange(CELLS + 1) / CELLS - 0.5)
    near, far = np.minimum(edges[:-1], edges[1:]), np.maximum(edges[:-1], edges[1:])
    near[CELLS // 2] = 0.0
    width, height = imaging.width, imaging.height
    least = np.hypot(width * near[None, :], height * near[:, None]).ravel() - step
    most = np.hypot(width * far[None, :], height * far[:, None]).ravel() + step
    return [(radii >= low) & (radii <= high) for low, high in zip(least, most, strict=True)]


def _half_disc(across: int) -> Reals:
    """Return the middle of the unit disc, then points of a square grid and on its rim, [n, 2].

    Only its half y >= 0: everything behind the panel is round, and points are taken at y = 0.
    """
    steps = np.linspace(-1.0, 1.0, across)
    grid = np.stack(np.meshgrid(steps, steps[steps >= 0.0]), axis=-1).reshape(-1, 2)
    squared = (grid**2).sum(axis=1)
    turns = np.arange(13) * np.pi / 12.0
    rim = 0.999 * np.column_stack([np.cos(turns), np.sin(turns)])
    return np.concatenate([[[0.0, 0.0]], grid[(squared > 0.0) & (squared < 1.0)], rim])


class _Aim:
    """Finds the rays from panel points on one radius that cross the stop at places all over it."""

    def __init__(self, imaging: Imaging, radii: Reals) -> None:
        self.imaging = imaging
        self.holes = 0.5 * imaging.stop_diameter * _half_disc(ACROSS_STOP)
        self.x = np.repeat(radii, len(self.holes))
        self.wanted = np.tile(self.holes.T, len(radii))
        self.paraxial = (self.wanted - imaging.a * np.stack([self.x, 0.0 * self.x])) / imaging.b
        self.slopes = self.paraxial.copy()
        # How slopes follow from places, d slope / d place, [2, 2] for each ray.
        self.inverse = np.tile(np.eye(2)[:, :, None] / imaging.b, len(self.x))

    def by_radius(self, found: Reals) -> Reals:
        """Return what was found for each ray as [radius, place in the stop]."""
        return found.reshape(-1, len(self.holes))

    @np.errstate(invalid="ignore", divide="ignore", over="ignore")
    def at(self, wavelength: int) -> Bundle:
        """Return the rays at the end of the train; nan where none gets there.

        Broyden's method for each ray, Mathematics of Computation 19 (1965) 577, from where the
        last wavelength's rays ended: after the first one two or three steps do.
        """
        going = np.arange(len(self.x))
        rays, passed, miss = self._traced(going, wavelength)
        for _ in range(MOST_STEPS):
            going = np.flatnonzero(np.abs(miss).max(axis=0) > AIMED_MM)
            if not len(going):
                break
            inverse = self.inverse[:, :, going]
            step = _times(inverse, miss[:, going])
            self.slopes[:, going] += step
            rays[:, going], passed[going], now = self._traced(going, wavelength)
            got = _times(inverse, miss[:, going] - now)
            back = _times(inverse.swapaxes(0, 1), step) / (step * got).sum(axis=0)
            self.inverse[:, :, going] = inverse + (step - got)[:, None] * back[None]
            miss[:, going] = now
        aimed = np.hypot(*miss) < MISSED_MM
        self.slopes = np.where(aimed, self.slopes, self.paraxial)
        self.inverse[:, :, ~aimed] = np.eye(2)[:, :, None] / self.imaging.b
        return Bundle(*np.where(passed & aimed, rays, np.nan))

    def _traced(self, which: NDArray[np.intp], wavelength: int) -> tuple[Reals, Flags, Reals]:
        """Return rays [6, n], whether no rim stopped them, and by how much they miss [2, n]."""
        slopes, x = self.slopes[:, which], self.x[which]
        rays = leave_panel(self.imaging.panel_z, x, 0.0 * x, *slopes)
        rays, passed, at_stop = trace_up(self.imaging.surfaces, wavelength, rays)
        return np.array(rays), passed, self.wanted[:, which] - at_stop


def _times(matrices: Reals, vectors: Reals) -> Reals:
    """Return the products of matrices [2, 2, n] and vectors [2, n]."""
    return (matrices * vectors[None]).sum(axis=1)
