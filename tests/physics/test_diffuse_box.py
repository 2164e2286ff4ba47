"""A box of Lambertian walls with a hole, against radiosity solved by linear algebra.

Radiosity: what leaves a patch is its own light and its reflectance times what it gets from all
others (Goral et al., SIGGRAPH 1984; Siegel and Howell, chapter 7: from memory). Derived here with
patches of even radiosity; its error is taken from a coarser grid, and as 1e-4 at least.
"""

import numpy as np
import pytest
from numpy.polynomial.legendre import leggauss

from tests.chance import assert_proportion
from tests.physics.tracing import box, emitter, stop, target, trace
from tests.physics.view_factors import aligned_rectangles, element_to_polygon

SIDE = 60.0
HOLE = 20.0
PHOTONS = 960_000
FLOOR, CEILING, WALLS = 0, 1, slice(2, 6)
SHARES = ("hole", "walls", "floor")


def faces(depth):
    """The six faces of the box as (corner, edge, edge), the normals edge x edge inwards."""
    s, z = SIDE, depth
    return np.array(
        [
            [[0, 0, 0], [s, 0, 0], [0, s, 0]],
            [[0, 0, z], [0, s, 0], [s, 0, 0]],
            [[0, 0, 0], [0, s, 0], [0, 0, z]],
            [[s, 0, 0], [0, 0, z], [0, s, 0]],
            [[0, 0, 0], [0, 0, z], [s, 0, 0]],
            [[0, s, 0], [s, 0, 0], [0, 0, z]],
        ],
        dtype=float,
    )


class Patches:
    """The faces cut into n x n patches each, with the view factors between all of them."""

    def __init__(self, depth, n):
        self.n = n
        grid = np.arange(n) / n
        corner, first, second = np.moveaxis(faces(depth), 1, 0)
        across, up = (part.ravel() for part in np.meshgrid(grid, grid, indexing="ij"))
        lows = (
            corner[:, None]
            + across[None, :, None] * first[:, None]
            + up[None, :, None] * second[:, None]
        ).reshape(-1, 3)
        first = np.repeat(first / n, n * n, axis=0)
        second = np.repeat(second / n, n * n, axis=0)
        normal = np.cross(first, second)
        self.area = np.linalg.norm(normal, axis=1)
        normal /= self.area[:, None]
        self.centres = lows + 0.5 * (first + second)
        corners = np.stack([lows, lows + first, lows + first + second, lows + second], axis=1)
        self.factors = np.zeros((len(lows), len(lows)))
        nodes, weights = leggauss(3)
        for a, weight_a in zip(nodes, weights, strict=True):
            for b, weight_b in zip(nodes, weights, strict=True):
                places = self.centres + 0.5 * a * first + 0.5 * b * second
                seen = element_to_polygon(places[:, None], normal[:, None], corners[None])
                self.factors += 0.25 * weight_a * weight_b * seen
        # Patches of one face do not see each other.
        face = np.arange(len(lows)) // (n * n)
        self.factors[face[:, None] == face[None, :]] = 0.0

    def arrivals(self, reflectances, centre_hole):
        """Light that arrives at every patch, [6, n, n], for 1 lm from the floor, evenly."""
        per_face = self.n**2
        reflectance = np.repeat(np.asarray(reflectances), per_face)
        ceiling = np.abs(self.centres - SIDE / 2)[:, :2].max(axis=1) < centre_hole / 2
        reflectance[ceiling & (np.arange(len(reflectance)) // per_face == CEILING)] = 0.0
        source = np.zeros(len(reflectance))
        source[:per_face] = 1.0 / per_face
        # Light leaving: b = source + reflectance * (factors' b), in lumens.
        left = np.linalg.solve(np.eye(len(source)) - reflectance[:, None] * self.factors.T, source)
        return (self.factors.T @ left).reshape(6, self.n, self.n)


@pytest.fixture(scope="module")
def cubes():
    return {n: Patches(SIDE, n) for n in (6, 9)}


def test_view_factors_close(cubes):
    # All that leaves a patch arrives somewhere, and opposite faces see 0.1998 of each other.
    for patches in cubes.values():
        assert patches.factors.sum(axis=1) == pytest.approx(1.0, abs=2e-3)
        n = patches.n**2
        opposite = patches.factors[:n, n : 2 * n].sum() / n
        assert opposite == pytest.approx(aligned_rectangles(1.0, 1.0, 1.0), abs=1e-6)


def expected_shares(patches, base, frame, walls):
    """Shares of the light that leave by the hole and end in the walls and the floor."""
    arrivals = patches.arrivals([base, frame, *[walls] * 4], HOLE)
    third = patches.n // 3
    hole = arrivals[CEILING, third : 2 * third, third : 2 * third]
    return np.array(
        [hole.sum(), (1 - walls) * arrivals[WALLS].sum(), (1 - base) * arrivals[FLOOR].sum()]
    )


@pytest.mark.parametrize("walls", [0.2, 0.5, 0.9])
def test_box_with_a_hole(cubes, walls):
    base, frame = 0.6, 0.8
    fine, coarse = (expected_shares(cubes[n], base, frame, walls) for n in (9, 6))
    traced = trace(
        box(SIDE, SIDE, base=base, walls=f"reflectance = {walls}")
        + emitter(f"width_mm = {SIDE}\nheight_mm = {SIDE}", reflectance=base)
        + target(SIDE, HOLE, outer=SIDE, frame=frame)
        + stop(SIDE + 1.0, 1.0),
        PHOTONS,
    )
    found = [traced.incident.sum(), traced.fates["absorbed by walls"], traced.back_on_floor]
    for what, count, share, rough in zip(SHARES, found, fine, coarse, strict=True):
        known = max(abs(share - rough), 1e-4)
        assert_proportion(count, traced.photons, share, known_to=known, what=what)


def test_sphere_multiplier_is_near_for_a_cube_with_a_small_hole():
    # M = rho/(1 - rho (1 - f)) of integrating spheres (makers' technical guides: from memory): of
    # the light that has met a wall once, the share f M / rho leaves by ports of the share f. A cube
    # is no sphere, its corners get less light than the middles of its faces: 5 % allowed.
    reflectance, hole = 0.95, 6.0
    traced = trace(
        box(SIDE, SIDE, base=reflectance, walls=f"reflectance = {reflectance}")
        + emitter(f"width_mm = {SIDE}\nheight_mm = {SIDE}", reflectance=reflectance)
        + target(SIDE, hole, outer=SIDE, frame=reflectance)
        + stop(SIDE + 1.0, 1.0),
        PHOTONS,
    )
    port = hole**2 / (6.0 * SIDE**2)
    multiplier = reflectance / (1.0 - reflectance * (1.0 - port))
    assert traced.incident.sum() / traced.photons == pytest.approx(
        port * multiplier / reflectance, rel=0.05
    )
