"""A kernel that leaves out what no part asks for must not miss anything: traits change no bit."""

from pathlib import Path

import numpy as np
import pytest

from photonsim import load_scene
from photonsim.engine.workers import Worker
from photonsim.kernel import codes
from photonsim.program import Compiled, build_program
from tests.shipped import SCENES

ALL_KINDS = Path(__file__).parent.parent / "scene" / "all_kinds.toml"
COUNT, SHIFT = 4_096, 12
# A choice among one group or one wavelength would use up a number, a screen needs its tallies and a
# guide its slots; and polarised light goes other ways.
CHOICES = codes.EMITTER_GROUPS | codes.WAVELENGTHS | codes.SCREEN | codes.GUIDED | codes.POLARISED
EVERYTHING = ((1 << 31) - 1) & ~CHOICES


def rows_of(scene, program):
    """Trace some histories and return their row and the panel's sums."""
    compiled = Compiled(scene)
    compiled.program = program
    rows = np.zeros((1, compiled.row_width), np.int64)
    worker = Worker(compiled, 3)
    worker.trace(0, COUNT, SHIFT, rows)
    return rows, worker.maps.panel


@pytest.mark.parametrize("path", [*SCENES, ALL_KINDS], ids=lambda path: path.stem)
def test_traits_leave_out_nothing_that_is_there(path):
    scene = load_scene(path)
    program = build_program(scene)
    own = rows_of(scene, program)
    all_of_them = rows_of(scene, program._replace(traits=program.traits | EVERYTHING))
    for one, other in zip(own, all_of_them, strict=True):
        np.testing.assert_array_equal(one, other)


def test_a_trait_that_is_missed_would_show():
    scene = load_scene(ALL_KINDS)
    program = build_program(scene)
    film = 1 << codes.PRISM_FILM
    assert program.traits & film
    bare = program._replace(traits=program.traits & ~film)
    assert (rows_of(scene, program)[0] != rows_of(scene, bare)[0]).any()
