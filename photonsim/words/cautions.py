"""The cautions that go with a lamp: one place for the words, each shown where it matters."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from photonsim.scene import Scene

EYES = (
    "Eyes: never look into a lit lamp or its objective. Bright LEDs can reach the risk group of "
    "IEC 62471 in which only blinking and turning away protect; work with the beam covered."
)
HEAT = (
    "Heat: LEDs, films and panel get hot in a closed box. Fit a heat sink and moving air, measure "
    "temperatures before you leave it running, and keep paper and wood away."
)
# Acrylic grows by 70 millionths a kelvin (common practice).
EDGES = (
    "Plate: a row of LEDs at its edge gets hotter than the same LEDs on a board, and acrylic "
    "softens from about 80 °C on (common practice). Screw the strip to a metal bar as long as the "
    "edge, measure the edge's temperature, and leave the plate room to grow: 0.35 mm for 100 mm "
    "and 50 K."
)
OVERDRIVE = (
    "Overdriven LEDs fade, char their board and can set it alight. Stay below the data sheet's "
    "current and temperature, and put a fuse for little more than the working current in the lead."
)
SUPPLY = (
    "Supply: use a certified low-voltage supply that is protected against short circuits and is "
    "loaded to 80 % at most; no bare or home-made mains supplies."
)
MAINS = "Mains: leave mains wiring to a licensed electrician."
SUN = "Sun: lenses and Fresnel sheets set fire to things in sunlight. Cover them when not in use."
LOCAL = "Local codes and licensed practice come before anything printed here."

# Where light is spoken of, where electricity is, and all of them for a write-up.
FOR_OPTICS = (EYES, HEAT, SUN, SUPPLY, MAINS, LOCAL)
FOR_SUPPLY = ALL = (EYES, HEAT, OVERDRIVE, SUPPLY, MAINS, SUN, LOCAL)

# What a strip of LEDs in still air may take with no metal behind it, watts to a metre (common
# practice: more asks for an aluminium profile).
BARE_STRIP_W_PER_M = 10.0


def for_lamp(cautions: tuple[str, ...], scene: Scene) -> tuple[str, ...]:
    """Return cautions with the one that lamps need whose LEDs stand at a light plate's edge."""
    if all(group.edge is None for group in scene.emitters.values()):
        return cautions
    after = cautions.index(HEAT) + 1
    return (*cautions[:after], EDGES, *cautions[after:])


def strip_words(w_per_m: float) -> str:
    """Say whether a strip of so many watts to a metre needs metal behind it."""
    need = ": this row needs metal behind it" if w_per_m > BARE_STRIP_W_PER_M else ""
    return f"a bare strip takes some {BARE_STRIP_W_PER_M:g} W a metre (common practice){need}"


# What the groups of IEC 62471 mean, in plain words.
RISK_GROUPS = {
    "exempt": "no hazard to the eye",
    "risk group 1": "no hazard in normal use",
    "risk group 2": "do not stare: only turning away protects the eye",
    "risk group 3": "a hazard even for a moment: do not use it bare",
}
