"""Where parts end: walls that stop short of the mouth, and rims of cemented lenses."""

import math

import numpy as np
import pytest

from photonsim.kernel import codes, real_lens
from photonsim.kernel.photon import GOES_ON, Photon
from photonsim.kernel.random import start
from photonsim.program import build_program
from tests.chance import assert_proportion
from tests.physics.lens_scenes import real_lens as lens
from tests.physics.lens_scenes import scene_with
from tests.physics.tracing import box, emitter, stop, target, trace
from tests.physics.view_factors import element_to_corner

PHOTONS = 200_000


def through(half, height):
    """Share of a Lambertian element's light through a square centred above it.

    Four corners of the configuration factor C-4 (Howell's catalogue; from memory).
    """
    return 4.0 * float(element_to_corner(half, half, height))


@pytest.mark.parametrize("ends", [20.0, 35.0])
@pytest.mark.parametrize("begins", [0.0, 8.0])
def test_walls_reach_from_where_they_begin_to_where_they_end(begins, ends):
    """Light past the walls' upper edge and out of the open side above it escapes; derived."""
    half, depth = 30.0, 60.0
    walls = f"reflectance = 0.0, from_mm = {begins}, to_mm = {ends}"
    traced = trace(
        box(2.0 * half, depth, walls=walls)
        + emitter()
        + target(depth, 2.0 * half - 1e-6)
        + stop(depth + 100.0, 1.0),
        PHOTONS,
    )
    below = 1.0 - through(half, begins) if begins else 0.0
    hit = through(half, begins) - through(half, ends) if begins else 1.0 - through(half, ends)
    beside = through(half, ends) - through(half, depth)
    assert_proportion(traced.fates["absorbed by walls"], traced.photons, hit, what="on walls")
    sideways = sum(n for name, n in traced.fates.items() if name.startswith("escaped"))
    past = sum(n for name, n in traced.fates.items() if name == "escaped past target")
    assert_proportion(sideways - past, traced.photons, below + beside, what="out at the sides")


@pytest.mark.parametrize(("first", "second"), [(30.0, 20.0), (20.0, 30.0)])
def test_cemented_face_ends_at_the_smaller_rim(first, second):
    """Where one of two cemented lenses ends there is glass and air, mount and cement: no face.

    A photon straight up at a height of 10 -+ 0.1 mm: through the glued face of a lens of 20 mm and
    one of 30 within the smaller rim, lost in its mount beyond. Explicit geometry.
    """
    doublet = lens("crown", 300.0, 10.0, first, 50.0, -50.0, index=1.5)
    doublet += lens("flint", 310.0, 2.0, second, -50.0, None, index=1.6)
    program = build_program(scene_with(doublet))
    glued = int(np.flatnonzero(program.layer_kind == codes.LENS_FACE)[1])
    for height, goes_on in ((9.9, True), (10.1, False)):
        for turn in (0.3, 2.0, 4.4):
            x, y = height * math.cos(turn), height * math.sin(turn)
            rng = np.uint64(start(np.uint64(4), np.uint64(7)))
            straight_up = Photon(x, y, 310.0, 0.0, 0.0, 1.0, rng, None)
            fate, _ = real_lens.cross(program, glued, 0, straight_up)
            assert (fate == GOES_ON) == goes_on
