"""The verdict on a lamp: is there a picture, how bright, how dark at the edges.

The advice on focus is right because it is tried: the scene is traced as it is, then with the
objective where its light asks for it, and corrected until moving gains no more.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from photonsim.optics.focus import move_to_focus, moved, objective_parts, screen_follows
from photonsim.results import Result, screen_of
from photonsim.scene import Scene
from photonsim.summary.focus_of_light import could_gain, is_worth_moving, move_for_light
from photonsim.warnings.of_focus import is_no_picture

# The search ends where the sums of a run promise less than this.
SETTLED = 1.01
MOST_TRIES = 5
# Makers measure to a tenth of a millimetre; fast lenses on fine pixels ask for one place more.
PLACES = (1, 2)

Tracer = Callable[[Scene], Result]


@dataclass(frozen=True)
class Verdict:
    """A scene traced as it is, and as it is sharpest.

    `move_mm` is how far the objective moves from one to the other, away from the panel where
    positive; 0 where moving is not worth it or cannot help. `distance_mm` is set instead where the
    scene leaves the screen's distance open, so that the screen would follow the objective. Where
    `is_stuck`, it is out of focus and no place of the objective helps.
    """

    now: Result
    best: Result
    move_mm: float = 0.0
    distance_mm: float | None = None
    is_stuck: bool = False

    @property
    def is_out_of_focus(self) -> bool:
        """Whether focusing is worth it."""
        return self.best is not self.now


def verdict_of(scene: Scene, trace: Tracer) -> Verdict:
    """Return the verdict on a scene; `trace` runs one, with the same random numbers each time."""
    now = trace(scene)
    if not now.run.landing:
        return Verdict(now, now)
    if screen_follows(scene):
        return _with_screen_moved(now, trace)
    move, best = _sharpest(now, trace)
    if _is_worth_it(now, best):
        return Verdict(now, best, move)
    return Verdict(now, now, is_stuck=_is_stuck(now))


def focusing_numbers(verdict: Verdict) -> dict[str, float]:
    """Return the numbers that bring a scene which is out of focus into it, by path."""
    if verdict.distance_mm is not None:
        return {"screen.distance_mm": verdict.distance_mm}
    train = verdict.best.scene.train
    return {f"train.{name}.z_mm": train[name].z_mm for name in objective_parts(verdict.now.scene)}


def _is_stuck(now: Result) -> bool:
    blur, least = now.estimate("blur").value, screen_of(now).blur_at_best_focus_px().value
    return is_worth_moving(blur, least) and move_for_light(now) is None


def _is_worth_it(now: Result, best: Result) -> bool:
    return is_worth_moving(now.estimate("blur").value, best.estimate("blur").value)


def _with_screen_moved(now: Result, trace: Tracer) -> Verdict:
    view = screen_of(now)
    distance = view.projection.throw_mm + view.best_focus_mm().value
    if not distance > 0.0:
        return Verdict(now, now)
    distance = float(f"{distance:.3g}")
    screen = now.scene.screen
    assert screen is not None  # screen_of would have raised
    pinned = screen.model_copy(update={"distance_mm": distance})
    best = trace(now.scene.model_copy(update={"screen": pinned}))
    return Verdict(now, best, 0.0, distance) if _is_worth_it(now, best) else Verdict(now, now)


def _sharpest(now: Result, trace: Tracer) -> tuple[float, Result]:
    """Return (move in mm, result) of the sharpest of the places tried."""
    scene = now.scene
    tried = {0.0: now}
    place: float | None = 0.0
    if is_no_picture(scene, now.estimate("blur").value):
        # What its light says of so distant a focus is rough: begin at that of rays near the axis.
        start = move_to_focus(scene)
        place = None if start is None else round(start, PLACES[0])
    while place is not None and len(tried) <= MOST_TRIES:
        if place not in tried:
            tried[place] = trace(moved(scene, place))
        place = _next_place(place, tried)
    blurs = {place: result.estimate("blur").value for place, result in tried.items()}
    sharpest = min(tried, key=lambda place: math.inf if math.isnan(blurs[place]) else blurs[place])
    return sharpest, tried[sharpest]


def _next_place(place: float, tried: dict[float, Result]) -> float | None:
    """Return where to try next, in mm from the scene's own place; None when that is done."""
    result = tried[place]
    if could_gain(result) < SETTLED:
        return None
    further = move_for_light(result)
    if further is None:
        return None
    rounded = (round(place + further, digits) for digits in PLACES)
    return next((wanted for wanted in rounded if wanted not in tried), None)
