"""Whether the lamp reaches the picture's edges: rays from the stop through the panel, backwards.

What arrives at a panel point for a place in the stop has the luminance of what one sees there,
looking back (luminance is kept along a ray; R. W. Boyd, Radiometry and the Detection of Optical
Radiation, section 5; from memory). So rays are followed from the stop through points of the panel
to the lamp, through the lenses before it; each sees an emitter's face or none. In the lamp:

- A diffuser turns a ray by its lobe (one drawn from fixed numbers for each ray).
- A prism film keeps the cosine along its ridges, since nothing changes that way. Across them it
  sends light from so many places that every ray is taken to see an emitter that way, if there is
  one no farther beside it than the film lies above it (light for the axis comes from some 30°).
- A polariser dims it as it does light that comes straight (Malus), by what the polarisers on the
  panel's side of it have left of its polarisation.
- A light plate is taken for evenly lit all over its front, whatever its dots.
- Walls and base are taken for lit as if all light were spread over the base, times their
  reflectance: the walls by the half of the base that they face, the base only by what sheets turn
  back to it and half of what matt walls scatter. A light plate keeps both from it. In a wall that
  is a mirror a ray sees the lamp itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from photonsim.arrays import Flags, Reals
from photonsim.optics.acceptance import rays_to_stop
from photonsim.optics.first_order import facing_share, film_angles
from photonsim.optics.objective import thin_lenses
from photonsim.optics.paraxial import ThinLens
from photonsim.scene import Diffuser, Emitter, PrismFilm, Scene, scatter
from photonsim.scene.light_plate import plates_of
from photonsim.scene.part import Part
from photonsim.scene.polariser import Polariser
from photonsim.scene.stands import glowing

# The outermost share of the panel's width and height that is its edge: results.merit.EDGE_STRIPS.
RIM = 1.0 / 32.0
POINTS, EDGE_POINTS = 192, 96
# A whole prism film turns back about half of what comes straight (common practice).
FILM_RETURNS = 0.5
# Where a film spreads more of an edge's rays across its ridges, nobody knows what lights it.
SPREAD = 0.1


@dataclass(frozen=True)
class Edge:
    """What lights one edge of the picture, as the stop sees it.

    `light` is what arrives relative to the panel's mean, `lit` the same for equally wide cones of
    light, which leaves out what lenses do: nan where they let nothing through. `beyond_mm` is how
    far past the last emitter face that way the edge's rays look, at the most; 0 where a sheet turns
    all of them on their way. `is_guess` says that a film across that way hides what is behind it.
    """

    name: str
    light: float
    lit: float
    beyond_mm: float
    is_guess: bool


def edges_of(scene: Scene) -> list[Edge]:
    """Return the edges of the picture: left and right (low and high x), bottom and top."""
    panel = scene.panel
    half = 0.5 * np.array([panel.active_width_mm, panel.active_height_mm])
    places = _even(POINTS)
    groups = {"all": places}
    strip = _even(EDGE_POINTS)
    for name, axis, side in (("left", 0, -1), ("right", 0, 1), ("bottom", 1, -1), ("top", 1, 1)):
        points = strip.copy()
        points[:, axis] = side * (1.0 - RIM * (1.0 + strip[:, axis]))
        groups[name] = points
    seen = {name: _seen(scene, half * points) for name, points in groups.items()}
    whole = seen.pop("all")
    if not whole.light > 0.0:
        return []
    return [
        Edge(
            name,
            edge.light / whole.light,
            edge.share / whole.share,
            edge.beyond_mm(scene, name),
            bool(edge.guessed[..., 0 if name in ("left", "right") else 1].mean() > SPREAD),
        )
        for name, edge in seen.items()
    ]


def _even(count: int) -> Reals:
    """Return `count` points of an even sequence in the square -1..1, [count, 2].

    Multiples of the powers of 1 / 1.3247 (the plastic number), which fall in step with no row of
    emitters (M. Roberts, The unreasonable effectiveness of quasirandom sequences, 2018; from
    memory).
    """
    steps = np.arange(1, count + 1)[:, None] * np.array([0.7548776662466927, 0.5698402909980532])
    return 2.0 * (steps % 1.0) - 1.0


@dataclass(frozen=True)
class _Seen:
    """Rays of some points: their weights, what each sees, and where it ends at the lamp."""

    weights: Reals
    luminance: Reals
    ends: Reals
    turned: Flags
    guessed: Flags

    @property
    def light(self) -> float:
        return float((self.weights * self.luminance).sum() / len(self.weights))

    @property
    def share(self) -> float:
        whole = float(self.weights.sum())
        return float((self.weights * self.luminance).sum()) / whole if whole else math.nan

    def beyond_mm(self, scene: Scene, name: str) -> float:
        axis = 0 if name in ("left", "right") else 1
        side = 1.0 if name in ("right", "top") else -1.0
        straight = (self.weights > 0.0) & ~self.turned[..., axis]
        if not straight.any():
            return 0.0
        last = max(
            max(side * place for place in places) + 0.5 * group.size_mm[axis]
            for group in glowing(scene)
            for places in ((group.columns_mm(), group.rows_mm())[axis],)
        )
        return max(0.0, float((side * self.ends[..., axis])[straight].max()) - last)


def _seen(scene: Scene, points: Reals) -> _Seen:
    """Follow rays from the stop through panel points [k, 2] in mm back to the lamp."""
    cosines, weights = rays_to_stop(scene, points)
    back = _Back(scene, np.repeat(points[:, None], cosines.shape[1], axis=1), cosines)
    return _Seen(weights, back.luminance(), back.places, back.turned, back.guessed)


class _Back:
    """Rays [k, n] on their way from the panel back to the lamp; they hold their upward cosines."""

    def __init__(self, scene: Scene, places: Reals, cosines: Reals) -> None:
        self.scene, self.z = scene, scene.panel.z_mm
        self.places, self.cosines = places.copy(), cosines.copy()
        # Along which axes a sheet has turned the ray, or has spread what it sees over everything.
        self.turned = np.zeros(places.shape, dtype=bool)
        self.spread = np.zeros(places.shape, dtype=bool)
        # Where on the uppermost film that was, and along which axes emitters near there are taken
        # for seen.
        self.on_film = np.zeros(places.shape)
        self.film_z = np.zeros(places.shape)
        self.guessed = np.zeros(places.shape, dtype=bool)
        self.lost = np.zeros(places.shape[:2], dtype=bool)
        self.on_wall = np.zeros(places.shape[:2], dtype=bool)
        # How much of each of the Stokes parameters I, Q, U goes on from here through the panel.
        self.passed = np.zeros((*places.shape[:2], 3))
        self.passed[..., 0] = 1.0
        if (axis_deg := scene.panel.polariser_deg) is not None:
            self.passed[..., 1:] = _stokes(axis_deg)
        self.luck = np.random.default_rng(12)

    def luminance(self) -> Reals:
        """Return what each ray sees in lm/mm² (times π), of faces spread over nothing else."""
        scene, lenses = self.scene, thin_lenses(self.scene)
        for name, part in reversed(scene.train.items()):
            if part.z_mm >= scene.panel.z_mm:
                continue
            if name in lenses:
                self._fly(lenses[name].back_mm)
                self._bend(lenses[name])
                self.z = lenses[name].front_mm
            elif isinstance(part, Diffuser | PrismFilm | Polariser):
                self._fly(part.z_mm)
                self._cross(name, part)
        seen = np.zeros(self.lost.shape)
        for group in sorted(glowing(scene), key=lambda one: -one.z_mm):
            self._fly(group.z_mm)
            seen += self._of(group)
        base = 0.5 * np.array([scene.housing.width_mm, scene.housing.height_mm])
        spread = scene.flux_lm / float(4.0 * base.prod())
        seen += scene.housing.base.reflectance * self._returned() * spread
        if walls := scene.housing.walls:
            mirror = walls.reflectance * walls.specular_share
            matt = 0.5 * (walls.reflectance - mirror) * spread
            seen = np.where(self.on_wall, mirror * seen + matt, seen)
        else:
            seen = np.where(self.on_wall, 0.0, seen)
        return np.where(self.lost, 0.0, seen * self.passed[..., 0])

    def _fly(self, z: float) -> None:
        w = np.sqrt(np.maximum(1.0 - (self.cosines**2).sum(axis=-1), 1.0e-6))[..., None]
        self.places -= (self.z - z) * self.cosines / w
        self.z = z
        housing = self.scene.housing
        if z > housing.depth_mm:
            return
        opening = 0.5 * np.array(housing.opening_mm(z))
        self.on_wall |= ((np.abs(self.places) > opening) & ~self.spread).any(axis=-1)

    def _bend(self, lens: ThinLens) -> None:
        """Take back the kick of a lens: p = p' + x (sum over conjugates c of ±1/sqrt(r² + c²))."""
        squared = (self.places**2).sum(axis=-1)
        self.lost |= lens.margin_mm2(self.places) < 0.0
        for conjugate in lens.conjugates_mm:
            if conjugate is not None:
                pull = math.copysign(1.0, conjugate) / np.sqrt(squared + conjugate**2)
                self.cosines = self.cosines + pull[..., None] * self.places
        self.lost |= (self.cosines**2).sum(axis=-1) >= 1.0

    def _cross(self, name: str, part: Diffuser | PrismFilm | Polariser) -> None:
        size = 0.5 * np.array(self.scene.part_size_mm(name))
        places = self._mirrored()
        inside = np.asarray((np.abs(places) <= size).all(axis=-1))
        if part.strips is not None:
            axis = 0 if part.strips.across == "x" else 1
            along = places[..., axis]
            covered = [
                (along >= low) & (along <= high)
                for low, high in part.strips.intervals_mm(-size[axis], size[axis])
            ]
            inside = inside & np.any(covered, axis=0)
        if isinstance(part, Diffuser):
            self._scatter(part, inside)
        elif isinstance(part, Polariser):
            self._polarise(part, inside)
        else:
            self._straighten(part, inside)
            if part.back is not None:
                self._scatter(part.back, inside)

    def _polarise(self, part: Polariser, inside: Flags) -> None:
        """Take back what a polariser does to the Stokes parameters of light straight through it.

        Its Mueller matrix is that of a linear diattenuator (E. Collett, Field Guide to
        Polarization, 2005; from memory).
        """
        along, across = part.pass_transmittance, part.block_transmittance
        mean, half = 0.5 * (along + across), 0.5 * (along - across)
        axis = _stokes(part.pass_deg)
        whole, in_line = self.passed[..., 0], self.passed[..., 1:] @ axis
        beside = self.passed[..., 1:] - in_line[..., None] * axis
        behind = np.empty_like(self.passed)
        behind[..., 0] = mean * whole + half * in_line
        behind[..., 1:] = (half * whole + mean * in_line)[..., None] * axis
        behind[..., 1:] += math.sqrt(along * across) * beside
        self.passed = np.where(inside[..., None], behind, self.passed)

    def _scatter(self, part: Diffuser, inside: Flags) -> None:
        shape = self.cosines.shape
        lobe = scatter.lobe_of(part.haze, part.half_angle_deg, part.opal)
        if lobe == scatter.OPAL:
            radius, turn = np.sqrt(self.luck.random(shape[:2])), self.luck.random(shape[:2])
            angle = 2.0 * math.pi * turn
            new = np.stack([radius * np.cos(angle), radius * np.sin(angle)], axis=-1)
            chosen = inside
        else:
            new = self.cosines + lobe.sigma * self.luck.standard_normal(shape)
            chosen = inside & (self.luck.random(shape[:2]) >= lobe.direct)
        sound = chosen & ((new**2).sum(axis=-1) < 1.0)
        self.cosines = np.where(sound[..., None], new, self.cosines)
        self.turned |= chosen[..., None]
        self.passed[..., 1:] *= 1.0 - part.depolarised_share * chosen[..., None]

    def _straighten(self, part: PrismFilm, inside: Flags) -> None:
        quarter = round(part.along_deg / 90.0)
        if abs(part.along_deg - 90.0 * quarter) > 1.0:
            for axis in (0, 1):
                self._spread(part.z_mm, axis, inside)
            self.turned |= inside[..., None]
            return
        across = 1 - quarter % 2
        index = part.index_at(self.scene.light.mean_nm)
        straight = film_angles(index, part.apex_deg).straightened_deg or 0.0
        # Light that leaves near the axis came at this angle, which makes its way longer.
        sine = math.sin(math.radians(straight))
        self.cosines[..., across] = np.where(inside, sine, self.cosines[..., across])
        self._spread(part.z_mm, across, inside)
        self.turned[..., across] |= inside

    def _spread(self, z: float, axis: int, inside: Flags) -> None:
        new = inside & ~self.spread[..., axis]
        at = self._mirrored()[..., axis]
        self.on_film[..., axis] = np.where(new, at, self.on_film[..., axis])
        self.film_z[..., axis] = np.where(new, z, self.film_z[..., axis])
        self.spread[..., axis] |= inside

    def _of(self, group: Emitter) -> Reals:
        """Return the luminance that rays see of a group's faces, 0 beside them."""
        hit = np.ones(self.lost.shape, dtype=bool)
        share = np.ones(self.lost.shape)
        pitches = (group.pitch_x_mm, group.pitch_y_mm)
        for axis, places in enumerate((group.columns_mm(), group.rows_mm())):
            spread, size, pitch = self.spread[..., axis], group.size_mm[axis], pitches[axis] or 0.0
            at = np.where(spread, self.on_film[..., axis], self._mirrored()[..., axis])
            beside = np.where(spread, np.maximum(self.film_z[..., axis] - group.z_mm, 0.0), 0.0)
            step = np.round((at - places[0]) / pitch) if len(places) > 1 else 0.0
            nearest = places[0] + np.clip(step, 0, len(places) - 1) * pitch
            seen = np.abs(at - nearest) <= 0.5 * size + beside
            self.guessed[..., axis] |= seen & spread
            hit &= seen
            # Taken for lit all over, at the mean over the base.
            opening = (self.scene.housing.width_mm, self.scene.housing.height_mm)[axis]
            share *= np.where(spread, len(places) * size / opening, 1.0)
        w = np.sqrt(np.maximum(1.0 - (self.cosines**2).sum(axis=-1), 0.0))
        face = group.flux_lm / (group.size_mm[0] * group.size_mm[1])
        lobe = 0.5 * (group.exponent + 1.0) * w ** (group.exponent - 1.0)
        return np.asarray(np.where(hit, face * share * lobe, 0.0))

    def _mirrored(self) -> Reals:
        """Return where the rays are, or the images in the walls of those that are beyond them."""
        housing = self.scene.housing
        half = 0.5 * np.array(housing.opening_mm(min(self.z, housing.depth_mm)))
        image = np.sign(self.places) * 2.0 * half - self.places
        return np.asarray(np.where(np.abs(self.places) > half, image, self.places))

    def _returned(self) -> float:
        """Return about what share of the lamp's light sheets and walls turn back to the base."""
        scene = self.scene
        if plates_of(scene.train):
            return 0.0
        before = [part for part in scene.train.values() if part.z_mm < scene.panel.z_mm]
        by_sheets = max(map(_turned_back, before), default=0.0)
        if scene.housing.walls is None:
            return by_sheets
        walls, box = scene.housing.walls, scene.housing
        onto = 1.0 - facing_share(box.width_mm / box.depth_mm, box.height_mm / box.depth_mm)
        return by_sheets + 0.5 * onto * walls.reflectance * (1.0 - walls.specular_share)


def _stokes(axis_deg: float) -> Reals:
    """Return the Stokes parameters (Q, U), for I = 1, of light polarised along an axis."""
    double = math.radians(2.0 * axis_deg)
    return np.array([math.cos(double), math.sin(double)])


def _turned_back(part: Part) -> float:
    """Return about what share of unpolarised light a part turns back to the base."""
    if isinstance(part, Polariser):
        return 0.5 * (part.pass_reflectance + part.block_reflectance)
    if isinstance(part, Diffuser):
        return part.reflectance
    return FILM_RETURNS if isinstance(part, PrismFilm) else 0.0
