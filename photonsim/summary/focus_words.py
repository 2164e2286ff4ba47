"""What one traced result says about focus, in words."""

from __future__ import annotations

import math

from photonsim.optics.focus import screen_follows
from photonsim.optics.focus_text import move_words, obstacle
from photonsim.results import Result, screen_of
from photonsim.summary.focus_of_light import is_worth_moving, move_for_light
from photonsim.warnings.of_focus import unfocused_words
from photonsim.words.text import number

# A screen is pulled back or forward by so much of its distance; more is another set-up.
SMALL_MOVE = 0.1


def focus_words(result: Result) -> str:
    """Say whether this lamp's own light is in focus, and what to move. For a scene with a screen.

    From the sums of one run, so of a far move only about: the objective's own errors change on
    the way.
    """
    view, scene = screen_of(result), result.scene
    blur, least = result.estimate("blur").value, view.blur_at_best_focus_px()
    shift = view.best_focus_mm()
    if math.isnan(blur):
        return "too little light reaches the screen to tell whether it is in focus"
    is_near = abs(shift.value) < SMALL_MOVE * view.projection.throw_mm
    by_screen = f"with the screen moved by {shift.text(1.0, 'mm')}: {least.text()} pixels over all"
    if is_near and not is_worth_moving(blur, least.value):
        return f"in focus; this lamp's own light is sharpest {by_screen}"
    words = unfocused_words(scene, blur)
    if screen_follows(scene):
        distance = view.projection.throw_mm + shift.value
        best = f"{least.text()} pixels over all"
        return f"{words}; sharpest with the screen at distance_mm = {number(distance)}: {best}"
    move = move_for_light(result)
    advice = obstacle(scene) if move is None else f"about: {move_words(scene, round(move, 1))}"
    words = f"{words}; {advice}"
    return f"{words}; or sharpest {by_screen}" if is_near else words
