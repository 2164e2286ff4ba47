"""What polarisers and a panel's axis come to, before a photon is traced."""

from __future__ import annotations

import math

from photonsim.scene.polariser import Polariser

FIND_AN_AXIS = (
    "to find an axis, look through the sheet at the glare of a window on a varnished tabletop, "
    "down at some 35°: it is brightest with the axis level (scenes/measuring.md)"
)


def between_deg(one: float, other: float) -> float:
    """Return the angle between two axes, 0 to 90 degrees."""
    turn = abs(one - other) % 180.0
    return min(turn, 180.0 - turn)


def recycling_gain(
    sheet: Polariser, turn_deg: float, reflectance: float, mirror_share: float
) -> float:
    """Return by how much a sheet over a base changes the light behind a panel's ideal polariser.

    The base reflects a share of all light, of that the `mirror_share` with its state kept and the
    rest depolarised; nothing else takes or turns light. Of what leaves the base, x = (x1, x2) in
    the sheet's two states, x = 1/2 + M R x with R what the sheet turns back (derived: a geometric
    series). A matt base and an ideal sheet in line with the panel gain 1/(1 - reflectance/2).
    """
    mixed = 0.5 * reflectance * (1.0 - mirror_share)
    kept = reflectance * mirror_share + mixed
    back, back_across = sheet.pass_reflectance, sheet.block_reflectance
    a, b = 1.0 - kept * back, mixed * back_across
    c, d = mixed * back, 1.0 - kept * back_across
    along, across = 0.5 * (d + b) / (a * d - b * c), 0.5 * (a + c) / (a * d - b * c)
    square = math.cos(math.radians(turn_deg)) ** 2
    through = sheet.pass_transmittance * along * square
    return 2.0 * (through + sheet.block_transmittance * across * (1.0 - square))
