"""Where the objective must stand for a lamp's own light to be sharpest, from a traced result.

Spherical aberration and the field's curvature move the best focus away from that of rays near the
axis. The sums of a run tell on which plane beyond the screen its light is sharpest. What those two
do on the panel's side hardly changes as the objective moves a little, so it is moved until rays
near the axis are as far out of focus on the screen as they are on that plane now.
"""

from __future__ import annotations

import math

from photonsim.optics.focus import defocus_mm, move_to_focus
from photonsim.results import Result, screen_of

# Less than this share of the blur, and this many pixels, are not worth moving anything for.
WORTH_MOVING = 1.05
WORTH_PX = 0.1


def is_worth_moving(before_px: float, after_px: float) -> bool:
    """Tell whether a smaller blur is worth moving the objective or the screen for."""
    return before_px > WORTH_MOVING * after_px and before_px - after_px > WORTH_PX


def move_for_light(result: Result) -> float | None:
    """Return how far to move the objective for the least RMS blur, in mm; None if nowhere.

    Raises ResultError where the scene has no screen.
    """
    beyond = screen_of(result).best_focus_mm().value
    wanted = defocus_mm(result.scene, beyond) if math.isfinite(beyond) else math.nan
    return move_to_focus(result.scene, wanted) if math.isfinite(wanted) else None


def could_gain(result: Result) -> float:
    """Return the RMS blur over the least that focusing can reach, by the sums of this run.

    Nan where too few photons landed to tell. Raises ResultError where the scene has no screen.
    """
    least = screen_of(result).blur_at_best_focus_px().value
    return result.estimate("blur").value / least if least != 0.0 else 1.0
