"""Where light should land on the screen: the chief ray of every panel point, and how far it strays.

All parts behind the panel are centred on the axis, so the chief ray of the panel point p, the one
through the middle of the stop, lands at p times a polynomial in p**2, and so does its slope.
"""

from __future__ import annotations

import numpy as np

from photonsim.arrays import Flags, Reals
from photonsim.kernel import codes
from photonsim.kernel.tallies import CELLS, SPOT_BINS
from photonsim.program.program import Program
from photonsim.program.rays import Bundle, leave_panel, trace_up
from photonsim.scene import Scene, follow

# Terms of 1, p**2, p**4, p**6: a lens with a few per cent of distortion is followed to 1e-4 pixels.
TERMS = codes.SCREEN_TERMS
RADII = 24
ACROSS_STOP = 9
# Rays between those tried go a little farther; what lands beyond this has been reflected by glass.
ROOM = 1.1


def land_on_screen(scene: Scene, program: Program) -> Program:
    """Return the program with `screen` and `spot_per_mm` filled in, if there is a screen."""
    projection = scene.projection
    if projection is None:
        return program
    entries = np.zeros(codes.SCREEN_ENTRIES)
    entries[codes.SCREEN_ON] = 1.0
    entries[codes.SCREEN_Z] = projection.screen_mm
    entries[codes.SCREEN_PER_MAGNIFICATION] = 1.0 / projection.magnification
    entries[codes.SCREEN_THROW] = projection.throw_mm / projection.magnification
    aim = _Aim(scene, program)
    panel = scene.panel
    corner = 0.5 * np.hypot(panel.active_width_mm, panel.active_height_mm)
    radii = np.linspace(corner / RADII, corner, RADII)
    points = np.column_stack([radii, np.zeros(RADII)])
    # The middle one of the wavelengths is the one that others are compared with.
    middle = program.layer_index.shape[1] // 2
    rays, missed = aim.at(points, np.zeros((RADII, 2)), middle)
    good = ~missed
    for first, found in (
        (codes.SCREEN_PLACE, rays.at(projection.screen_mm)[:, 0] / projection.magnification),
        (codes.SCREEN_SLOPE, rays.slopes[:, 0] * entries[codes.SCREEN_THROW]),
    ):
        entries[first : first + TERMS] = _even_terms(radii[good], found[good])
    spot_per_mm = 0.5 * SPOT_BINS / _strays(scene, program, aim, entries)
    return program._replace(screen=entries, spot_per_mm=spot_per_mm)


def chief_mm(entries: Reals, points: Reals, first: int) -> Reals:
    """Return the polynomial that begins at column `first` for panel points [n, 2], [n, 2] in mm."""
    squared = (points**2).sum(axis=1)
    terms = entries[first : first + TERMS]
    return points * np.polynomial.polynomial.polyval(squared, terms)[:, None]


def _even_terms(radii: Reals, found: Reals) -> Reals:
    """Return the coefficients of found = r (a + b r**2 + ...), by least squares."""
    terms = np.zeros(TERMS)
    count = min(TERMS, len(radii))
    if count:
        scale = radii[-1]
        basis = (radii / scale)[:, None] ** (2 * np.arange(count))
        fitted, *_ = np.linalg.lstsq(basis, found / radii, rcond=None)
        terms[:count] = fitted / scale ** (2 * np.arange(count))
    return terms


def _strays(scene: Scene, program: Program, aim: _Aim, entries: Reals) -> Reals:
    """Return, for each cell, how far light may stray from its chief ray, in mm, [CELLS**2].

    Measured on the panel's scale, over the whole of the stop's hole and all wavelengths, at points
    on one radius of the panel: everything behind it is round.
    """
    panel = scene.panel
    corner = 0.5 * np.hypot(panel.active_width_mm, panel.active_height_mm)
    radii = np.linspace(0.0, corner, RADII)
    holes = _disc(ACROSS_STOP) * 0.5 * scene.stop.diameter_mm
    points = np.column_stack([np.repeat(radii, len(holes)), np.zeros(RADII * len(holes))])
    chief = chief_mm(entries, points, codes.SCREEN_PLACE)
    farthest = np.zeros(RADII)
    for wavelength in range(program.layer_index.shape[1]):
        rays, missed = aim.at(points, np.tile(holes, (RADII, 1)), wavelength)
        landed = rays.at(entries[codes.SCREEN_Z]) * entries[codes.SCREEN_PER_MAGNIFICATION]
        off = np.linalg.norm(landed - chief, axis=1)
        off = np.where(missed | ~np.isfinite(off), 0.0, off).reshape(RADII, -1)
        farthest = np.maximum(farthest, off.max(axis=1))
    pixel = panel.active_width_mm / panel.columns
    most = [farthest[(radii >= low) & (radii <= high)].max() for low, high in _reach(scene, radii)]
    return np.clip(ROOM * np.array(most), pixel, codes.FARTHEST_MM)


def _reach(scene: Scene, radii: Reals) -> list[tuple[float, float]]:
    """Return the range of distances from the axis that each cell spans, widened to `radii`."""
    step = radii[1]
    edges = np.abs(np.arange(CELLS + 1) / CELLS - 0.5)
    near, far = np.minimum(edges[:-1], edges[1:]), np.maximum(edges[:-1], edges[1:])
    near[CELLS // 2] = 0.0
    width, height = scene.panel.active_width_mm, scene.panel.active_height_mm
    least = np.hypot(width * near[None, :], height * near[:, None]).ravel() - step
    most = np.hypot(width * far[None, :], height * far[:, None]).ravel() + step
    return list(zip(least.tolist(), most.tolist(), strict=True))


def _disc(across: int) -> Reals:
    """Return points of a square grid inside the unit disc, and some on its rim, [n, 2]."""
    steps = np.linspace(-1.0, 1.0, across)
    grid = np.stack(np.meshgrid(steps, steps), axis=-1).reshape(-1, 2)
    turns = np.arange(24) * np.pi / 12.0
    rim = 0.999 * np.column_stack([np.cos(turns), np.sin(turns)])
    return np.concatenate([grid[(grid**2).sum(axis=1) < 1.0], rim])


class _Aim:
    """Finds the rays from panel points that cross the stop at given places."""

    def __init__(self, scene: Scene, program: Program) -> None:
        self.program = program
        panel_z, stop_z = scene.panel.z_mm, scene.stop.z_mm
        bends = [bend for bend in scene.bends() if panel_z <= bend.z_mm <= stop_z]
        self.a, _ = follow(1.0, 0.0, panel_z, stop_z, bends)
        self.b, _ = follow(0.0, 1.0, panel_z, stop_z, bends)

    def at(self, points: Reals, wanted: Reals, wavelength: int) -> tuple[Bundle, Flags]:
        """Return rays from points [n, 2] through the places [n, 2] of the stop, and which missed.

        Newton's method with the paraxial derivative B: a few steps bring well-behaved lenses
        within a micrometre.
        """
        slopes = (wanted - self.a * points) / self.b
        for _ in range(12):
            start = leave_panel(self.program, points, slopes)
            _, found = trace_up(self.program, start, wavelength, rims=False)
            miss = np.nan_to_num(wanted - found)
            if np.abs(miss).max() < 1e-6:
                break
            slopes = slopes + miss / self.b
        rays, found = trace_up(self.program, leave_panel(self.program, points, slopes), wavelength)
        missed = ~rays.alive | ~(np.linalg.norm(found - wanted, axis=1) < 1e-3)
        return rays, missed
