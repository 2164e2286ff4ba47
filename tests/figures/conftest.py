"""Results to draw: of a usual lamp, of all kinds of parts, of hardly any light."""

from pathlib import Path

import pytest

from photonsim.engine import sample_paths, trace
from photonsim.scene import load_scene, parse_scene

SCENES = Path(__file__).parents[1] / "scene"

# A lamp in the open, a hole that no light will find, and a title that asks for trouble: a formula,
# a script the font lacks, and more words than a line holds.
LONELY = """
title = "One lamp, $5_^{ \\u68ee, for the third act with the moon above the mill, \
the pond and the wood behind, seen from the back of the hall"
[housing]
width_mm = 60.0
height_mm = 80.0
depth_mm = 20.0
[emitters.spot]
shape = "disc"
diameter_mm = 3.0
flux_lm = 500.0
[train.panel]
kind = "panel"
z_mm = 60.0
columns = 45
rows = 80
active_width_mm = 50.0
active_height_mm = 90.0
outer_width_mm = 56.0
outer_height_mm = 100.0
[train.stop]
kind = "aperture_stop"
z_mm = 2000.0
diameter_mm = 0.01
"""


def _traced(scene, photons):
    return trace(scene, photons=photons, seed=3), sample_paths(scene, 40, seed=3)


@pytest.fixture(scope="session")
def usual():
    """(result, paths) of the backdrop projector."""
    return _traced(load_scene(SCENES / "backdrop.toml"), 60_000)


@pytest.fixture(scope="session")
def all_kinds():
    """(result, paths) of a scene with every kind of part."""
    return _traced(load_scene(SCENES / "all_kinds.toml"), 30_000)


@pytest.fixture(scope="session")
def lonely():
    """(result, paths) of a lamp whose light never reaches the stop."""
    return _traced(parse_scene(LONELY), 10_000)


@pytest.fixture(scope="session")
def unlit():
    """(result, paths) of one full batch only: no figure of merit has an error."""
    return _traced(parse_scene(LONELY), 300)
