"""Lamps with the emission's net against the same lamps with independent draws: as much, but surer.

Independent draws are those of one history of each block, since every block is scrambled anew.
"""

import numpy as np
import pytest

from photonsim.engine.worker import Worker
from photonsim.kernel import codes
from photonsim.kernel.digital_net import BLOCK_BITS
from photonsim.program import build_program
from photonsim.program.layers import layers_of
from photonsim.scene import load_scene
from tests.chance import assert_same_mean, assert_variance_at_most
from tests.shipped import SCENES, scene

BLOCK = 1 << BLOCK_BITS
BLOCKS = 256
ROWS, HISTORIES = 64, 1500
OVAL = SCENES[0].parent / "measured" / "oval_lamp.toml"


class Lamp:
    """A lamp traced in both ways: tallies by row, each of so many photons."""

    def __init__(self, lamp):
        program = build_program(lamp)
        worker = Worker(program, 11, (lamp.panel.rows, lamp.panel.columns))
        width = codes.ROW_FATES + codes.layer_fate(len(layers_of(lamp)), 0)
        self.even = np.zeros((BLOCKS, width), np.int64)
        worker.trace(0, BLOCKS * BLOCK, BLOCK_BITS, self.even)
        self.independent = np.zeros((ROWS, width), np.int64)
        for row in range(ROWS):
            for block in range(row * HISTORIES, (row + 1) * HISTORIES):
                number = (block << BLOCK_BITS) + block % BLOCK
                worker.trace(number, 1, 63, self.independent[row : row + 1])

    def shares(self, *columns):
        """Return the shares of photons [rows] counted in some columns, with the net and without."""
        even, independent = (rows[:, columns].sum(axis=1) for rows in (self.even, self.independent))
        return even / BLOCK, independent / HISTORIES


@pytest.fixture(scope="module", params=["a", "d", "f", "oval"])
def lamp(request):
    if request.param == "oval":
        return request.param, Lamp(load_scene(OVAL))
    return request.param, Lamp(scene(request.param))


def middle_third(light):
    """Columns of the nine cells in the panel's middle."""
    first = codes.ROW_CELLS + light * codes.CELLS**2
    return [first + codes.CELLS * i + j for i in range(3, 6) for j in range(3, 6)]


@pytest.mark.parametrize(
    "columns",
    [
        [codes.ROW_COLLECTED],
        [codes.ROW_INCIDENT],
        list(range(codes.ROW_POLAR, codes.ROW_POLAR + 10)),
        middle_third(0),
        middle_third(1),
    ],
    ids=["collected", "incident", "within 10 degrees", "middle, incident", "middle, collected"],
)
def test_as_much_light_but_surer(lamp, columns):
    name, traced = lamp
    even, independent = traced.shares(*columns)
    assert_same_mean(even, independent, what="share of the photons")
    share = even.mean()
    binomial = share * (1.0 - share) / BLOCK
    assert_variance_at_most(even, binomial, what=f"variance of {name}")
    # Of this one the limits are a fourth above what was measured.
    if columns == [codes.ROW_COLLECTED]:
        most = {"a": 0.25, "d": 0.45, "f": 0.45, "oval": 0.7}[name]
        assert_variance_at_most(even, most * binomial, what=f"variance of {name}, collected")
