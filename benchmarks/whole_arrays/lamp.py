"""A lamp made of layers, and photons swept up and down through them."""

from __future__ import annotations

import math

import numpy as np

from benchmarks.whole_arrays.film import Film
from benchmarks.whole_arrays.lenses import Face, Ideal
from benchmarks.whole_arrays.photons import (
    PANEL_X,
    PANEL_Y,
    ROWS,
    Counted,
    Reals,
    U,
    V,
    W,
    X,
    Y,
    Z,
    keep,
)
from benchmarks.whole_arrays.surfaces import Faces, Layer, Opening, PanelPlane, Stop, Surface
from benchmarks.whole_arrays.walls import Walls
from photonsim.scene import ApertureStop, IdealLens, Panel, PrismFilm, RealLens, Scene

Rng = np.random.Generator
Waiting = list[list[Reals]]


class ArrayLamp:
    """A scene as the array tracer sees it. Raises ValueError for parts that it does not hold."""

    def __init__(self, scene: Scene) -> None:
        if len(scene.emitters) != 1 or len(scene.light.wavelengths_nm) != 1:
            raise ValueError("the array tracer knows one group of emitters and one wavelength")
        ((name, self.emitters),) = scene.emitters.items()
        if self.emitters.shape != "rectangle" or self.emitters.intensity is not None:
            raise ValueError("the array tracer knows rectangular emitters with a cosine power only")
        self.scene, self.walls = scene, Walls(scene.housing)
        self.panel = PanelPlane(scene.panel_name, scene.panel)
        middle: list[Layer] = [Faces(name, self.emitters), *self._parts(), Opening(scene.housing)]
        middle.sort(key=lambda layer: layer.z_mm)
        base = scene.housing.base
        self.layers = [Surface(0.0, "base", base.reflectance, base.specular_share), *middle]
        self.first_gap = next(n for n, part in enumerate(self.layers) if isinstance(part, Faces))
        at_stop = isinstance(self.layers[-1], Stop)
        self.goal = "through the stop" if at_stop else "through the objective"

    def _parts(self) -> list[Layer]:
        found: list[Layer] = []
        (nm,) = self.scene.light.wavelengths_nm
        for name, part in self.scene.train.items():
            if isinstance(part, PrismFilm):
                found.append(Film(part, nm))
            elif isinstance(part, Panel):
                if part.haze or part.relative_transmittance is not None:
                    raise ValueError("the array tracer knows clear panels only")
                found.append(self.panel)
            elif isinstance(part, IdealLens):
                found.append(Ideal(name, part, part.z_mm < self.scene.panel.z_mm))
            elif isinstance(part, RealLens):
                found += _faces(name, part, part.index_at(nm))
            elif isinstance(part, ApertureStop):
                found.append(Stop(part.z_mm, name, part.diameter_mm))
            else:
                raise ValueError(f"the array tracer does not know {name}, a {part.kind}")
        return found

    def trace(self, photons: int, seed: int, chunk: int) -> Counted:
        """Trace photons, `chunk` at a time, and return what was counted."""
        rng = np.random.default_rng(seed)
        panel = self.scene.panel
        counted = Counted((panel.rows, panel.columns))
        for first in range(0, photons, chunk):
            self._trace_chunk(min(chunk, photons - first), rng, counted)
        return counted

    def _trace_chunk(self, count: int, rng: Rng, counted: Counted) -> None:
        # rising[g] waits in the gap above layer g to meet layer g + 1, falling[g] to meet layer g.
        gaps = range(len(self.layers))
        rising: Waiting = [[] for _ in gaps]
        falling: Waiting = [[] for _ in gaps]
        rising[self.first_gap].append(self.emit(count, rng))
        counted.photons += count
        while any(rising) or any(falling):
            for gap in gaps:
                self._move(gap, True, rising, falling, rng, counted)
            for gap in reversed(gaps):
                self._move(gap, False, rising, falling, rng, counted)

    def emit(self, count: int, rng: Rng) -> Reals:
        """Return [ROWS, count] new photons, shared evenly by the emitters."""
        group = self.emitters
        width, height = group.size_mm
        photons = np.empty((ROWS, count))
        columns, rows = np.array(group.columns_mm()), np.array(group.rows_mm())
        photons[X] = columns[rng.integers(len(columns), size=count)]
        photons[X] += width * (rng.random(count) - 0.5)
        photons[Y] = rows[rng.integers(len(rows), size=count)]
        photons[Y] += height * (rng.random(count) - 0.5)
        photons[Z] = group.z_mm
        cosine = rng.random(count) ** (1.0 / (1.0 + group.exponent))
        turn = 2.0 * math.pi * rng.random(count)
        sine = np.sqrt(1.0 - cosine * cosine)
        photons[U], photons[V], photons[W] = sine * np.cos(turn), sine * np.sin(turn), cosine
        photons[PANEL_X] = photons[PANEL_Y] = np.nan
        return photons

    def _move(
        self, gap: int, up: bool, rising: Waiting, falling: Waiting, rng: Rng, counted: Counted
    ) -> None:
        """Move all photons that wait in a gap and go one way: to a wall or to the next layer."""
        waiting = rising if up else falling
        if not waiting[gap]:
            return
        photons = np.concatenate(waiting[gap], axis=1)
        waiting[gap] = []
        counted.events += photons.shape[1]
        layer = gap + 1 if up else gap
        if layer == len(self.layers):
            counted.fates[self.goal] += photons.shape[1]
            counted.collected += self.panel.map_of(keep(photons, ~np.isnan(photons[PANEL_X])))
            return
        z = self.layers[layer].z_mm
        distance = (z - photons[Z]) / photons[W]
        x, y = photons[X] + distance * photons[U], photons[Y] + distance * photons[V]
        if z <= self.scene.housing.depth_mm and self.layers[gap].z_mm < self.scene.housing.depth_mm:
            arrives = self.walls.within(x, y)
            thrown = self.walls.meet(keep(photons, ~arrives), rng, counted)
            _sort(thrown, gap, gap, rising, falling)
            photons, x, y = keep(photons, arrives), x[arrives], y[arrives]
        photons[X], photons[Y], photons[Z] = x, y, z
        left = self.layers[layer].meet(photons, up, rng, counted)
        _sort(left, layer, layer - 1, rising, falling)


def _sort(photons: Reals, above: int, below: int, rising: Waiting, falling: Waiting) -> None:
    """Let photons wait in the gap that lies before them."""
    up = photons[W] > 0.0
    if up.any():
        rising[above].append(keep(photons, up))
    if not up.all():
        falling[below].append(keep(photons, ~up))


def _faces(name: str, part: RealLens, index: float) -> list[Layer]:
    if part.coating_reflectance is not None or part.conic_lamp or part.conic_screen:
        raise ValueError("the array tracer knows uncoated spherical lenses only")
    lamp, screen = part.curvatures
    return [
        Face(part.z_mm, f"{name} (lamp side)", part.diameter_mm, lamp, (1.0, index)),
        Face(part.end_mm, f"{name} (screen side)", part.diameter_mm, screen, (index, 1.0)),
    ]
