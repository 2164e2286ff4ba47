"""The few facts of a scene that the figures of merit need beside the counts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from photonsim.scene import IdealLens, Scene
from photonsim.scene.stands import stands_of


@dataclass(frozen=True)
class Optics:
    """Emitted flux, the factor for what was not left to the photons, and the emitters' pitch.

    `pitches` maps an axis ('x', 'y') to (pitch, first centre, last centre) in mm, for axes along
    which the emitters stand at one even pitch.
    """

    flux_lm: float
    transmittance: float
    width_mm: float
    height_mm: float
    pixel_mm: float
    pitches: dict[str, tuple[float, float, float]]


def optics_of(scene: Scene) -> Optics:
    """Return the facts of a scene.

    The panel's transmittance and that of ideal lenses behind it are factors; lenses before the
    panel have already absorbed their photons.
    """
    panel = scene.panel
    lenses = [part for part in scene.train.values() if isinstance(part, IdealLens)]
    behind = [lens.transmittance for lens in lenses if lens.z_mm > panel.z_mm]
    return Optics(
        flux_lm=scene.flux_lm,
        transmittance=math.prod(behind, start=panel.transmittance),
        width_mm=panel.active_width_mm,
        height_mm=panel.active_height_mm,
        pixel_mm=panel.active_width_mm / panel.columns,
        pitches={
            axis: pitch
            for axis in ("x", "y")
            if (pitch := _pitch(_places(scene, axis))) is not None
        },
    )


def _places(scene: Scene, axis: str) -> list[float]:
    stands = stands_of(scene).values()
    places = [stand.columns_mm if axis == "x" else stand.rows_mm for stand in stands]
    return sorted({round(place, 6) for row in places for place in row})


def _pitch(places: list[float]) -> tuple[float, float, float] | None:
    if len(places) < 2:
        return None
    steps = [high - low for low, high in pairwise(places)]
    pitch = sum(steps) / len(steps)
    if any(not math.isclose(step, pitch, rel_tol=0.02) for step in steps):
        return None
    return pitch, places[0], places[-1]
