"""A salvaged lens from what can be measured on a kitchen table, and how sure its faces are.

Diameter, thickness in the middle and at the rim, and the focal length from the image of a distant
window give the sag of the faces, from that their radius, and with the focal length the index.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from scipy.optimize import brentq

from photonsim.results import Estimate, ResultError
from photonsim.scene import RealLens, SceneError
from photonsim.scene.cross_checks import PART_NAME

Sides = Literal["flat_and_curved", "both_curved"]

# A calliper's reading through a tissue, and a ruler held to a blurred image (common practice).
THICKNESS_ERROR_MM = 0.1
FOCAL_ERROR = 0.02
# Between fused silica and the heaviest flint; plastics lie inside.
LEAST_INDEX, MOST_INDEX = 1.40, 1.95


@dataclass(frozen=True)
class KitchenLens:
    """A lens as reckoned: radius of its curved faces in mm and index, each with standard error."""

    diameter_mm: float
    centre_mm: float
    sides: Sides
    radius: Estimate
    index: Estimate

    @property
    def is_plausible(self) -> bool:
        """Whether some glass or plastic has such an index, within two standard errors."""
        return (
            LEAST_INDEX - 2.0 * self.index.error
            < self.index.value
            < MOST_INDEX + 2.0 * self.index.error
        )

    def toml(self, name: str, z_mm: float) -> str:
        """Return the part of a scene, curved side to the screen where the other one is flat."""
        radius = round(self.radius.value, 1)
        lines = [f"[train.{name}]", 'kind = "real_lens"', f"z_mm = {z_mm:g}"]
        lines += [f"thickness_mm = {self.centre_mm:g}", f"diameter_mm = {self.diameter_mm:g}"]
        if self.sides == "both_curved":
            lines.append(f"radius_lamp_mm = {radius:g}")
        lines.append(f"radius_screen_mm = {-radius:g}")
        lines.append(f"index = {self.index.value:.3f}")
        return "\n".join(lines) + "\n"


def kitchen_lens(
    diameter_mm: float, centre_mm: float, edge_mm: float, focal_mm: float, sides: Sides
) -> KitchenLens:
    """Return the lens that fits four readings; two curved sides are taken as alike.

    `focal_mm` is from the middle of the lens to the image. Raises ResultError for readings that no
    such lens can have.
    """
    readings = (diameter_mm, centre_mm, edge_mm, focal_mm)
    radius, index = _solve(*readings, sides)
    steps = (THICKNESS_ERROR_MM, THICKNESS_ERROR_MM, THICKNESS_ERROR_MM, FOCAL_ERROR * focal_mm)
    spread_radius = spread_index = 0.0
    for k, step in enumerate(steps):
        # Half a step to either side: with a flat lens a whole one might leave no sag at all.
        ends = []
        for sign in (-0.5, 0.5):
            diameter, centre, edge, focal = (
                value + sign * step * (k == place) for place, value in enumerate(readings)
            )
            ends.append(_solve(diameter, centre, edge, focal, sides))
        spread_radius += (ends[1][0] - ends[0][0]) ** 2
        spread_index += (ends[1][1] - ends[0][1]) ** 2
    return KitchenLens(
        diameter_mm,
        centre_mm,
        sides,
        Estimate(radius, math.sqrt(spread_radius)),
        Estimate(index, math.sqrt(spread_index)),
    )


def _solve(
    diameter: float, centre: float, edge: float, focal: float, sides: Sides
) -> tuple[float, float]:
    half = 0.5 * diameter
    sag = (centre - edge) * (1.0 if sides == "flat_and_curved" else 0.5)
    if min(diameter, centre, edge, focal) <= 0.0 or not 0.0 < sag < half:
        raise ResultError(
            f"diameter {diameter:g}, middle {centre:g}, rim {edge:g}, focal length {focal:g} mm: "
            "no such lens; it must be thicker in the middle than at the rim, by less than its "
            "diameter"
        )
    # A cap of sag s over a circle of radius h lies on a sphere of (h² + s²) / 2 s.
    radius = (half * half + sag * sag) / (2.0 * sag)
    if sides == "flat_and_curved":
        return radius, 1.0 + radius / focal
    # 1/f = (n - 1)(2/R - (n - 1) t / (n R²)) for equal sides (Smith, Modern Optical Engineering,
    # eq. 3.21); the power grows with n, so one root.
    return radius, float(
        brentq(
            lambda n: (
                (n - 1.0) * (2.0 / radius - (n - 1.0) * centre / (n * radius**2)) - 1.0 / focal
            ),
            1.0,
            10.0,
        )
        if 9.0 * (2.0 / radius - 0.9 * centre / radius**2) > 1.0 / focal
        else math.nan
    )


def kitchen_text(lens: KitchenLens, name: str = "magnifier", z_mm: float = 230.0) -> str:
    """Return the part as TOML with a word on its errors. Raises ResultError if it is no lens."""
    words = [
        f"# From the kitchen table: R {lens.radius.text(1.0, 'mm')}, index {lens.index.text()}",
        f"# (readings to {THICKNESS_ERROR_MM:g} mm, the focal length to {100 * FOCAL_ERROR:g} %).",
        "# Blur and distortion follow the radii, the focal length where the picture is.",
    ]
    if not lens.is_plausible:
        words.append(
            "# No glass or plastic has such an index: measure again; are both sides really alike?"
        )
    if not PART_NAME.fullmatch(name):
        raise ResultError(f"{name!r}: a name begins with a small letter, then a-z, 0-9 and _")
    part = lens.toml(name, z_mm)
    try:
        RealLens(
            z_mm=z_mm,
            thickness_mm=lens.centre_mm,
            diameter_mm=lens.diameter_mm,
            radius_lamp_mm=lens.radius.value if lens.sides == "both_curved" else None,
            radius_screen_mm=-lens.radius.value,
            index=min(max(lens.index.value, 1.2), 2.5),
        )
    except SceneError as error:
        problems = "; ".join(map(str, error.mistakes))
        raise ResultError(f"these readings give no lens: {problems}") from None
    return "\n".join(words) + "\n" + part
