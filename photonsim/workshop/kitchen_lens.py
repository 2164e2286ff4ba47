"""A salvaged lens from what can be measured on a kitchen table, and how sure its faces are.

Diameter, thickness in the middle and at the rim, and the focal length from the image of a distant
window give the sag of the faces, from that their radii, and with the focal length the index.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.optimize import brentq

from photonsim.results import Estimate, ResultError
from photonsim.scene import RealLens, SceneError
from photonsim.scene.cross_checks import PART_NAME

# The sides of a lens, in the order of its faces, and which of them are curved.
SIDES = ("lamp", "screen")
Curved = Literal["both", "lamp", "screen"]
Radii = tuple[float | None, float | None]

# A calliper's reading through a tissue, a ruler held to a blurred image, a template held to a face
# (common practice).
THICKNESS_ERROR_MM = 0.1
FOCAL_ERROR = 0.02
RADIUS_ERROR = 0.02
# Between fused silica and the heaviest flint; plastics lie inside.
LEAST_INDEX, MOST_INDEX = 1.40, 1.95
# Water has 1.33, the densest optical glasses 2.1 (from memory): beyond, a reading is wrong.
INDEX_LIMITS = (1.3, 2.2)
# How far the rim may be off what measured radii ask for, in standard errors.
MISFIT_TOLD = 2.0


@dataclass(frozen=True)
class KitchenLens:
    """A lens as reckoned, each figure with its standard error.

    `curvatures` are those of its faces in 1/mm, towards lamp and screen, positive where they bulge;
    `misfit_mm` is by how much the lens is thicker in the middle than its faces say, 0 unless all
    that is curved was measured.
    """

    diameter_mm: float
    centre_mm: float
    curvatures: tuple[Estimate, Estimate]
    index: Estimate
    misfit_mm: Estimate

    def __repr__(self) -> str:
        """Tell the faces and the index, with their errors."""
        lamp, screen = ("flat" if one is None else f"R {one.text(1.0, 'mm')}" for one in self.radii)
        return (
            f"<lens of {self.diameter_mm:g} mm: to the lamp {lamp}, to the screen {screen}, "
            f"index {self.index}>"
        )

    @property
    def is_plausible(self) -> bool:
        """Whether some usual glass or plastic has such an index, within two standard errors."""
        slack = 2.0 * self.index.error
        return LEAST_INDEX - slack < self.index.value < MOST_INDEX + slack

    @property
    def radii(self) -> tuple[Estimate | None, Estimate | None]:
        """Radii of the faces in mm, positive where they bulge; None for a flat one."""
        lamp, screen = (
            Estimate(1.0 / one.value, one.error / one.value**2) if one.value else None
            for one in self.curvatures
        )
        return lamp, screen

    def part(self, z_mm: float) -> RealLens:
        """Return the lens at a height. Raises SceneError for one that cannot be."""
        lamp, screen = (None if one is None else round(one.value, 1) for one in self.radii)
        return RealLens(
            z_mm=z_mm,
            thickness_mm=self.centre_mm,
            diameter_mm=self.diameter_mm,
            radius_lamp_mm=lamp,
            radius_screen_mm=None if screen is None else -screen,
            index=round(self.index.value, 3),
        )


def kitchen_lens(
    diameter_mm: float,
    centre_mm: float,
    edge_mm: float,
    focal_mm: float,
    curved: Curved = "both",
    radii_mm: Radii = (None, None),
) -> KitchenLens:
    """Return the lens that fits the readings.

    `focal_mm` is from the middle of the lens to the image, the mean of both ways round. `radii_mm`
    are those of faces that were measured, lamp side first, negative where hollow; what curves were
    not follow from the thicknesses, two as alike. All lengths in millimetres. Its `part(z_mm)`
    stands in a scene's train; `photonsim.answer` gives it as TOML. Measure away from the sun: a
    lens that gathers sunlight burns. Raises ResultError for readings that no such lens can have.

    >>> import photonsim
    >>> lens = photonsim.kitchen_lens(diameter_mm=60, centre_mm=9, edge_mm=4.3, focal_mm=187)
    >>> print(lens.index)
    1.524 ± 0.019
    >>> lens.part(z_mm=230).radius_lamp_mm
    192.7
    """
    readings = [diameter_mm, centre_mm, edge_mm, focal_mm, *radii_mm]
    errors = [THICKNESS_ERROR_MM] * 3 + [FOCAL_ERROR * focal_mm]
    errors += [RADIUS_ERROR * abs(radius or 0.0) for radius in radii_mm]
    for side, radius in zip(SIDES, radii_mm, strict=True):
        if radius is not None and curved not in ("both", side):
            raise ResultError(f"the face to the {side} is said to be flat, and to have a radius")
    found = _solve(readings, curved)
    if not INDEX_LIMITS[0] <= found[2] <= INDEX_LIMITS[1]:
        raise ResultError(
            f"these readings ask for an index of {found[2]:.3g}; from water, 1.33, to the densest "
            f"glass lenses lie within {INDEX_LIMITS[0]:g} and {INDEX_LIMITS[1]:g}: measure again, "
            "and see which sides are curved"
        )
    squares = np.zeros(len(found))
    for place, error in enumerate(errors):
        if error:
            # Half a step to either side: with a flat lens a whole one might leave no sag at all.
            ends = [
                [(r or 0.0) + step * error if k == place else r for k, r in enumerate(readings)]
                for step in (-0.5, 0.5)
            ]
            squares += np.subtract(*(_solve(end, curved) for end in ends)) ** 2
    lamp, screen, index, misfit = map(Estimate, found.tolist(), np.sqrt(squares).tolist())
    return KitchenLens(diameter_mm, centre_mm, (lamp, screen), index, misfit)


def _solve(readings: list[float | None], curved: Curved) -> np.ndarray:
    """Return (curvature to the lamp, to the screen, index, misfit) of readings."""
    diameter, centre, edge, focal = (value or 0.0 for value in readings[:4])
    half, radii = 0.5 * diameter, readings[4:]
    sags = [_sag(half, radius) for radius in radii]
    free = [k for k, side in enumerate(SIDES) if curved in ("both", side) and radii[k] is None]
    rest = centre - edge - sum(sags)
    for k in free:
        sags[k] = rest / len(free)
    if min(diameter, centre, focal) <= 0.0 or not (
        abs(rest) < half and (sum(sags) > 0.0 or len(free) < 1)
    ):
        raise ResultError(
            f"diameter {diameter:g}, middle {centre:g}, rim {edge:g}, focal length {focal:g} mm: "
            "no such lens; it must be thicker in the middle than at the rim, by less than its "
            "diameter"
        )
    # A cap of sag s over a circle of radius h lies on a sphere of (h² + s²) / 2 s.
    lamp, screen = (2.0 * sag / (half * half + sag * sag) for sag in sags)
    index = _index(lamp, screen, centre, focal)
    return np.array([lamp, screen, index, 0.0 if free else rest])


def _sag(half: float, radius: float | None) -> float:
    """Return how far a face of a radius bulges over a circle; 0 for one that was not measured."""
    if radius is None:
        return 0.0
    if abs(radius) <= half:
        raise ResultError(f"radius {radius:g} mm: must be more than half the diameter, {half:g} mm")
    return math.copysign(abs(radius) - math.sqrt(radius * radius - half * half), radius)


def _index(lamp: float, screen: float, centre: float, focal: float) -> float:
    """Return the index at which light from afar meets so far from the middle of the lens.

    For convex curvatures c and a thickness t, 1/f = (n - 1)(c1 + c2 - (n - 1) t c1 c2 / n), and the
    principal planes lie f (n - 1) t c2 / n and f (n - 1) t c1 / n inside the two faces (Hecht,
    Optics, section 6.1). The mean of both ways round is f + (t - the two) / 2.
    """

    def too_far(index: float) -> float:
        step = index - 1.0
        power = step * (lamp + screen - step * centre * lamp * screen / index)
        if power <= 0.0:
            return math.inf
        inside = step * centre * (lamp + screen) / (index * power)
        return 1.0 / power + 0.5 * (centre - inside) - focal

    low, high = 1.001, 10.0
    if not too_far(low) > 0.0 > too_far(high):
        return low if too_far(low) <= 0.0 else high
    return float(brentq(lambda index: min(too_far(index), 1e9), low, high))


def kitchen_text(lens: KitchenLens, name: str = "magnifier", z_mm: float = 230.0) -> str:
    """Return the part as TOML with a word on its errors. Raises ResultError if it is no lens."""
    lamp, screen = ("flat" if one is None else f"R {one.text(1.0, 'mm')}" for one in lens.radii)
    faces = (
        f"both faces {lamp}" if lamp == screen else f"to the lamp {lamp}, to the screen {screen}"
    )
    words = [
        f"# From the kitchen table: {faces},",
        f"# index {lens.index.text()} (readings to {THICKNESS_ERROR_MM:g} mm, focal length and "
        f"radii to {100 * FOCAL_ERROR:g} %).",
        "# Blur and distortion follow the radii; the focal length, where the picture is.",
    ]
    if not lens.is_plausible:
        words.append(
            "# Hardly a glass or plastic has such an index: measure again; are the sides as said?"
        )
    if abs(lens.misfit_mm.value) > MISFIT_TOLD * lens.misfit_mm.error:
        words += (
            f"# The middle is {lens.misfit_mm.text(1.0, 'mm')} thicker than these radii ask for:",
            "# measure again.",
        )
    if not PART_NAME.fullmatch(name):
        raise ResultError(f"{name!r}: a name begins with a small letter, then a-z, 0-9 and _")
    try:
        part = lens.part(z_mm)
    except SceneError as error:
        problems = "; ".join(map(str, error.mistakes))
        raise ResultError(f"these readings give no lens: {problems}") from None
    lines = [f"[train.{name}]", 'kind = "real_lens"']
    lines += [f"{key} = {value:g}" for key, value in part.given(*PART_KEYS).items()]
    return "\n".join([*words, *lines]) + "\n"


PART_KEYS = (
    "z_mm",
    "thickness_mm",
    "diameter_mm",
    "radius_lamp_mm",
    "radius_screen_mm",
    "index",
)
