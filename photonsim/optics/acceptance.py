"""How much of the panel's light the stop accepts, through the lenses between, at full angles.

From each panel point a ray is sought to each point of the stop. In direction cosines p the
accepted étendue is dG = dA d²p = dA |∂p/∂s| ds over stop points s: a smooth integral, done by Gauss
quadrature. Without lenses |∂p/∂s| = cos⁴ θ / d², which is the configuration factor times π. A lens
is the phase element of the tracer, so étendue is conserved; strong aberrations that send several
rays from one panel point to one stop point are beyond this. Sheets are left out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Reals
from photonsim.optics.objective import thin_lenses
from photonsim.optics.paraxial import ThinLens
from photonsim.scene import Scene

# With 8 nodes along each half side of the panel and these over the stop, G is good to 1e-6 of
# itself on the shipped scenes, and to 1e-2 where rims cut half of the light. The corners of a
# rectangular rim would fall between so few spokes.
PANEL_NODES = 8
RINGS, SPOKES, SPOKES_BY_CORNERS = 6, 16, 64
NEWTON_STEPS = 15
IDENTITY = np.eye(2)


@dataclass(frozen=True)
class Acceptance:
    """Étendue in mm² sr that the stop accepts from the panel, and the shares at single points.

    `open_mm2sr` leaves out the rims of the lenses, `accepted_mm2sr` counts what they let pass.
    `centre` and `corner` are shares of the light of a Lambertian element of the panel there;
    `cut_by` names the lenses whose rims cut light, with the share of the open étendue each cuts.
    """

    open_mm2sr: float
    accepted_mm2sr: float
    centre: float
    corner: float
    cut_by: dict[str, float]

    @property
    def is_coarse(self) -> bool:
        """Whether rims cut more than half: what they leave may fall between the nodes."""
        return self.accepted_mm2sr < 0.5 * self.open_mm2sr

    @property
    def bound_mm2sr(self) -> float:
        """Étendue in mm² sr that is surely not exceeded."""
        return self.open_mm2sr if self.is_coarse else self.accepted_mm2sr


def acceptance_of(scene: Scene) -> Acceptance:
    """The acceptance of a scene's stop."""
    panel = scene.panel
    lenses = {name: part for name, part in thin_lenses(scene).items() if part.z_mm > panel.z_mm}
    half_width, half_height = 0.5 * panel.active_width_mm, 0.5 * panel.active_height_mm
    nodes, weights = _gauss(PANEL_NODES)
    across, up = np.meshgrid(half_width * nodes, half_height * nodes)
    # Lenses and stop are alike on all four sides: a quarter of the panel stands for all.
    points = np.column_stack([across.ravel(), up.ravel()])
    areas = 4.0 * half_width * half_height * np.outer(weights, weights).ravel()
    reached, passed = _accepted(scene, list(lenses.values()), points)
    whole = float(areas @ reached)
    ends = np.array([[0.0, 0.0], [half_width, half_height]])
    centre, corner = _accepted(scene, list(lenses.values()), ends)[1][-1] / math.pi
    return Acceptance(
        open_mm2sr=whole,
        accepted_mm2sr=float(areas @ passed[-1]),
        centre=float(centre),
        corner=float(corner),
        cut_by={
            name: 1.0 - float(areas @ passed[place]) / whole if whole else 0.0
            for place, name in enumerate(lenses)
        },
    )


def _gauss(count: int) -> tuple[Reals, Reals]:
    """Nodes and weights of Gauss quadrature on 0..1."""
    nodes, weights = np.polynomial.legendre.leggauss(count)
    return 0.5 * (nodes + 1.0), 0.5 * weights


def _accepted(scene: Scene, lenses: Sequence[ThinLens], points: Reals) -> tuple[Reals, Reals]:
    """Areas in the plane of direction cosines that lead from panel points [k, 2] to the stop.

    Returns those of all rays that reach the stop [k], and of those within the rim of each lens,
    and of all lenses in the last row [lenses + 1, k].
    """
    _, flux, margins = _rays(scene, lenses, points)
    margins.append(np.minimum.reduce(margins) if margins else np.ones_like(flux))
    shape = (len(points), RINGS, -1)
    flux = flux.reshape(shape)
    passed = [(flux * _clear(margin.reshape(shape))).sum(axis=(1, 2)) for margin in margins]
    return flux.sum(axis=(1, 2)), np.array(passed)


def rays_to_stop(scene: Scene, points: Reals) -> tuple[Reals, Reals]:
    """Return (direction cosines [k, n, 2], étendue per area of the panel [k, n]) at panel points.

    Of n rays from each of the points [k, 2] in mm that fill the stop; those that a lens rim cuts
    off, or that do not exist, carry nothing.
    """
    panel = scene.panel
    lenses = [lens for lens in thin_lenses(scene).values() if lens.z_mm > panel.z_mm]
    cosines, flux, margins = _rays(scene, lenses, points)
    clear = np.all([margin > 0.0 for margin in margins], axis=0) if margins else True
    shape = (len(points), -1)
    return cosines.reshape(*shape, 2), np.where(clear, flux, 0.0).reshape(shape)


def _rays(
    scene: Scene, lenses: Sequence[ThinLens], points: Reals
) -> tuple[Reals, Reals, list[Reals]]:
    """Return (cosines, étendue, by how much each rim clears them) of rays from points to the stop.

    A round rim clears a ray by its squared radius less that of the ray: even in r² near the axis.
    """
    all_round = all(lens.sides_mm is None for lens in lenses)
    spots, areas = _spots(0.5 * scene.stop.diameter_mm, SPOKES if all_round else SPOKES_BY_CORNERS)
    starts = np.repeat(points, len(spots), axis=0)
    targets = np.tile(spots, (len(points), 1))
    cosines, found, density, margins = _aim(scene, lenses, starts, targets)
    flux = np.where(found, density * np.tile(areas, len(points)), 0.0)
    return cosines, flux, margins


def _clear(margin: Reals) -> Reals:
    """Share of each node's cell [points, rings, spokes] where the margin is positive.

    The margin is taken as linear along r² in a cell. Whole cells would let a rim about the axis
    jump from ring to ring.
    """
    nodes, weights = _gauss(RINGS)
    outer = np.cumsum(weights)[:, None]
    inner = outer - weights[:, None]
    slope = np.gradient(margin, nodes, axis=1)
    slope = np.where(np.abs(slope) < 1.0e-12, 1.0e-12, slope)
    edge = np.clip(nodes[:, None] - margin / slope, inner, outer)
    share = np.where(slope > 0.0, outer - edge, edge - inner)
    return share / (outer - inner)


def _spots(radius: float, spokes: int) -> tuple[Reals, Reals]:
    """Nodes [n, 2] and areas [n] of a quadrature over a disc: Gauss in r², even in azimuth."""
    squares, weights = _gauss(RINGS)
    azimuth = (np.arange(spokes) + 0.5) * (2.0 * math.pi / spokes)
    distance = radius * np.sqrt(squares)[:, None]
    spots = np.stack([distance * np.cos(azimuth), distance * np.sin(azimuth)], axis=-1)
    areas = np.repeat(weights, spokes) * (math.pi * radius**2 / spokes)
    return spots.reshape(-1, 2), areas


def _aim(
    scene: Scene, lenses: Sequence[ThinLens], starts: Reals, targets: Reals
) -> tuple[Reals, NDArray[np.bool_], Reals, list[Reals]]:
    """Find rays from starts [n, 2] to targets [n, 2] by Newton's method.

    Returns their direction cosines at the panel, whether each was found, |∂p/∂s|, and by how much
    each lens's rim clears the rays.
    """
    cosines = np.zeros_like(starts)
    limit = 1.0e-9 * (scene.stop.z_mm - scene.panel.z_mm)
    for _ in range(NEWTON_STEPS):
        places, slopes, margins, alive = _through(scene, lenses, starts, cosines)
        miss = targets - places
        (a, b), (c, d) = np.moveaxis(slopes, 0, -1)
        determinant = a * d - b * c
        sound = alive & (np.abs(determinant) > 0.0)
        if np.all(~sound | (np.hypot(*miss.T) < limit)):
            break
        along, across = miss.T / np.where(sound, determinant, np.inf)
        step = np.column_stack([d * along - b * across, a * across - c * along])
        cosines = _within_unit_disc(cosines + step)
    found = sound & (np.hypot(*miss.T) < limit)
    return cosines, found, 1.0 / np.abs(np.where(found, determinant, 1.0)), margins


def _within_unit_disc(cosines: Reals) -> Reals:
    length = np.hypot(*cosines.T)[:, None]
    return cosines * np.minimum(1.0, 0.999 / np.maximum(length, 1.0e-300))


def _through(scene: Scene, lenses: Sequence[ThinLens], places: Reals, cosines: Reals) -> Any:
    """Trace rays [n, 2] from the panel to the stop together with their derivatives.

    Returns the places at the stop, ∂place/∂cosines [n, 2, 2], by how much each lens's rim clears
    the rays, and whether each ray exists.
    """
    moved = np.zeros((len(places), 2, 2))
    turned = np.broadcast_to(IDENTITY, moved.shape)
    alive = np.ones(len(places), dtype=bool)
    margins = []
    z = scene.panel.z_mm
    for lens in lenses:
        places, moved = _fly(places, moved, cosines, turned, lens.front_mm - z)
        z = lens.back_mm
        margins.append(lens.margin_mm2(places))
        cosines, turned = _bend(lens, places, moved, cosines, turned)
        alive &= np.hypot(*cosines.T) < 1.0
        cosines = _within_unit_disc(cosines)
    places, moved = _fly(places, moved, cosines, turned, scene.stop.z_mm - z)
    return places, moved, margins, alive


def _fly(
    places: Reals, moved: Reals, cosines: Reals, turned: Reals, distance: float
) -> tuple[Reals, Reals]:
    """Cross a gap: x' = x + d p / w with w = sqrt(1 - p²), and its derivative."""
    w = np.sqrt(1.0 - (cosines**2).sum(axis=1))[:, None]
    outer = cosines[:, :, None] * cosines[:, None, :]
    slope = IDENTITY / w[..., None] + outer / w[..., None] ** 3
    return places + distance * cosines / w, moved + distance * slope @ turned


def _bend(
    lens: ThinLens, places: Reals, moved: Reals, cosines: Reals, turned: Reals
) -> tuple[Reals, Reals]:
    """Cross a lens: p' = p - k(r²) x, k the sum over conjugates c of ±1 / sqrt(r² + c²)."""
    squared = (places**2).sum(axis=1)
    kick, change = np.zeros_like(squared), np.zeros_like(squared)
    for conjugate in lens.conjugates_mm:
        if conjugate is not None:
            pull = math.copysign(1.0, conjugate) / np.sqrt(squared + conjugate**2)
            kick += pull
            change -= 0.5 * pull / (squared + conjugate**2)
    outer = places[:, :, None] * places[:, None, :]
    slope = kick[:, None, None] * IDENTITY + 2.0 * change[:, None, None] * outer
    return cosines - kick[:, None] * places, turned - slope @ moved
