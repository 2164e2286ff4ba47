"""The objective in first order: focal length, planes, pupils, speed, and where the picture lies."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from photonsim.optics.paraxial import ThinLens
from photonsim.scene import (
    LENSES,
    Bend,
    IdealLens,
    RealLens,
    Scene,
    cardinal_of,
    follow,
)
from photonsim.words.text import number


def objective_names(scene: Scene) -> list[str]:
    """Return the lenses of the objective: those behind the panel that are nearer to the stop."""
    panel, stop = scene.panel.z_mm, scene.stop.z_mm
    return [
        name
        for name, part in scene.train.items()
        if isinstance(part, LENSES)
        and part.z_mm > panel
        and abs(part.z_mm - stop) < part.z_mm - panel
    ]


def thin_lenses(scene: Scene) -> dict[str, ThinLens]:
    """Return the lenses up to the stop as thin ones in the middle of their principal planes."""
    found = {}
    for name, part in scene.train.items():
        if part.z_mm > scene.stop.z_mm or not isinstance(part, LENSES):
            continue
        if isinstance(part, IdealLens):
            found[name] = ThinLens(
                part.z_mm, part.focal_mm, part.diameter_mm, part.conjugates_mm, part.transmittance
            )
            continue
        data = cardinal_of(scene.bends([name]))
        if math.isfinite(data.focal_mm):
            middle = 0.5 * (data.front_principal_mm + data.back_principal_mm)
            sides = scene.part_size_mm(name)
            is_round = len(set(part.outline_keys)) == 1
            found[name] = ThinLens(
                middle if isinstance(part, RealLens) else part.z_mm,
                data.focal_mm,
                sides[0] if is_round else math.hypot(*sides),
                (None, data.focal_mm),
                sides_mm=None if is_round else sides,
                hiatus_mm=data.back_principal_mm - data.front_principal_mm,
            )
    return found


def exit_pupil(scene: Scene, bends: Sequence[Bend]) -> tuple[float, float]:
    """Return (z, diameter) in mm of the stop's image as seen from the screen."""
    stop = scene.stop
    behind = [bend for bend in bends if bend.z_mm > stop.z_mm]
    if not behind:
        return stop.z_mm, stop.diameter_mm
    last = behind[-1].z_mm
    height, slope = follow(0.0, 1.0, stop.z_mm, last, behind)
    if abs(slope) < 1.0e-12:
        return -math.inf, math.inf
    z = last - height / slope
    size, _ = follow(1.0, 0.0, stop.z_mm, z, behind)
    return z, abs(size) * stop.diameter_mm


def entrance_pupil(scene: Scene, bends: Sequence[Bend]) -> tuple[float, float]:
    """Return (z, diameter) in mm of the stop's image as seen from the panel.

    A ray of height y and slope u at the first face meets the stop at a y + b u: light for the
    stop's middle heads for b / a behind that face, and the image is 1 / a of the stop.
    """
    stop = scene.stop
    before = [bend for bend in bends if bend.z_mm <= stop.z_mm]
    if not before:
        return stop.z_mm, stop.diameter_mm
    first = before[0].z_mm
    a, _ = follow(1.0, 0.0, first, stop.z_mm, before)
    b, _ = follow(0.0, 1.0, first, stop.z_mm, before)
    if abs(a) < 1.0e-12:
        return math.inf, math.inf
    return first + b / a, stop.diameter_mm / abs(a)


def objective_words(scene: Scene) -> Iterator[str]:
    """Yield sentences about the objective and the picture that it makes."""
    names = objective_names(scene)
    if not names:
        yield "There is no lens at the stop: no picture is formed beyond it."
        return
    bends = scene.bends(names)
    data = cardinal_of(bends)
    if math.isinf(data.focal_mm):
        yield f"{', '.join(names)}: together without power, so no picture is formed."
        return
    (entrance, opening), (pupil, width) = entrance_pupil(scene, bends), exit_pupil(scene, bends)
    speed = abs(data.focal_mm) / width
    near, far = (number(z, 4) for z in (data.front_principal_mm, data.back_principal_mm))
    yield (
        f"{', '.join(names)}: f = {number(data.focal_mm, 4)} mm, principal planes at z = "
        f"{near} and {far} mm, entrance pupil {_pupil(entrance, opening)}, exit pupil "
        f"{_pupil(pupil, width)}, f/{speed:.3g}, Petzval radius {number(data.petzval_mm, 4)} mm."
    )
    projection = scene.projection
    if projection is None:
        return
    panel = scene.panel
    if projection.focus_mm is None:
        yield "Rays near the axis bring the panel to no focus beyond the train."
    else:
        way = number(projection.focus_mm - projection.last_mm, 4)
        yield f"Rays near the axis bring the panel to a focus {way} mm from the train's end."
    size = abs(projection.magnification)
    width_mm, height_mm = (
        number(size * side, 4) for side in (panel.active_width_mm, panel.active_height_mm)
    )
    yield (
        f"The screen stands {number(projection.throw_mm, 4)} mm from the end of the train: the "
        f"picture is {width_mm} × {height_mm} mm, "
        f"{size:.3g} times the panel."
    )


def _pupil(z_mm: float, diameter_mm: float) -> str:
    if math.isinf(z_mm):
        return "at infinity"
    return f"ø {diameter_mm:.3g} mm at z = {number(z_mm, 4)} mm"
