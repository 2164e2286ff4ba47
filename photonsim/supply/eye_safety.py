"""How bright the emitters are to the eye: luminance, blue light, the risk group they suggest."""

from __future__ import annotations

import math
from typing import NamedTuple

from photonsim.scene import Led, Scene
from photonsim.supply.led_curve import blue_w_per_lm

# Limits of the blue-weighted radiance of a large source, W/(m² sr), for groups from exempt up
# (IEC 62471:2006, table 6.1: from memory).
LIMITS = ((100.0, "exempt"), (1.0e4, "risk group 1"), (4.0e6, "risk group 2"))
BEYOND = "risk group 3"


class Glare(NamedTuple):
    """The brightest emitter along its axis: cd/m², blue-weighted W/(m² sr), and the risk group."""

    luminance: float
    blue_radiance: float
    group: str


def glare_of(scene: Scene, led: Led, flux_lm: float) -> Glare:
    """Return how the brightest emitter looks at a flux in lumens of each, bare, without lenses.

    An estimate of the order of magnitude, with the whole face taken as evenly bright; a risk group
    is assigned by measurement alone. Intensity on the axis of cos^m: (m + 1) F/(2 pi).
    """
    brightest = 0.0
    for group in scene.emitters.values():
        candela = (group.exponent + 1.0) * flux_lm / (2.0 * math.pi)
        brightest = max(brightest, candela / (1e-6 * group.face_mm2))
    blue = brightest * blue_w_per_lm(led)
    name = next((name for limit, name in LIMITS if blue <= limit), BEYOND)
    return Glare(brightest, blue, name)
