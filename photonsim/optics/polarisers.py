"""What polarisers and a panel's axis come to, before a photon is traced."""

from __future__ import annotations

import math
from typing import NamedTuple

from photonsim.optics.facts import diffusers_before_panel
from photonsim.scene import Diffuser, LightPlate, Scene
from photonsim.scene.light_plate import plates_of
from photonsim.scene.polariser import Polariser
from photonsim.words.text import percent

FIND_AN_AXIS = (
    "to find an axis, look through the sheet at the glare of a window on a varnished tabletop, "
    "down at some 35°: it is brightest with the axis level (scenes/measuring.md)"
)


def between_deg(one: float, other: float) -> float:
    """Return the angle between two axes, 0 to 90 degrees."""
    turn = abs(one - other) % 180.0
    return min(turn, 180.0 - turn)


class Recycler(NamedTuple):
    """What sends again the light that a sheet turns back.

    `parts` are named from the sheet on; none are the base alone. `reflectance` is the most that
    they reflect, `mirror_share` the share of that which keeps its polarisation.
    """

    parts: tuple[str, ...]
    reflectance: float
    mirror_share: float

    @property
    def words(self) -> str:
        """What it is and how much it reflects, for people."""
        reflects = percent(self.reflectance)
        if self.parts:
            verb = "which reflects" if len(self.parts) == 1 else "which together reflect"
            return f"{' and '.join(self.parts)}, {verb} {reflects} at most,"
        like = f", {percent(self.mirror_share)} of it like a mirror," if self.mirror_share else ""
        return f"a base that reflects {reflects}{like}"


def recycler_of(scene: Scene, sheet: Polariser) -> Recycler:
    """Return what lies below a sheet and sends again what that turns back.

    A diffuser of R and T over what reflects r makes R + T^2 r/(1 - R r) of it, all reflections
    between added up (derived: a geometric series). The reflector of a light plate takes the place
    of all below it, and is hidden where dots lie. Films, and what a plate loses, are left out.
    """
    base = scene.housing.base
    above, behind, reflectance = list[str](), ["the base"], base.reflectance
    for name, part in scene.train.items():
        if part.z_mm >= sheet.z_mm:
            break
        if isinstance(part, LightPlate):
            if part.reflector is not None:
                above, behind, reflectance = [], [], part.reflector.reflectance
            reflectance += part.densest_dots * max(0.0, part.dot_reflectance - reflectance)
        elif isinstance(part, Diffuser):
            through = part.transmittance**2 * reflectance / (1.0 - part.reflectance * reflectance)
            reflectance = part.reflectance + through
        else:
            continue
        above.insert(0, name)
    is_matt = plates_of(scene.train) or diffusers_before_panel(scene)
    mirror = 0.0 if is_matt else base.specular_share
    return Recycler((*above, *behind) if above else (), reflectance, mirror)


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
