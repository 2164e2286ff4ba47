"""The numbers of the emission: even over a block, uniform and unbiased over the blocks."""

import numpy as np
import pytest
from chance import assert_distribution, assert_mean, assert_same_mean

from photonsim.kernel.compiler import jit_entry
from photonsim.kernel.lattice import BLOCK_BITS, spread
from photonsim.kernel.random import STEP, start, uniform

BLOCK = 1 << BLOCK_BITS
BLOCKS = 256
# Integral of 1 + 2 pi**2 B_2 squared is 1 + pi**4 / 45 a dimension; on the diagonal it is:
DIAGONAL = (1.0 + np.pi**2 / 3.0) ** 4


@jit_entry
def fill(seed, first, lattice, plain):
    """Write numbers [histories, 4] for the emission, of the lattice and drawn plainly."""
    for done in range(lattice.shape[0]):
        history = first + np.uint64(done)
        lattice[done] = spread(1.0, seed, history)
        rng = start(seed, history)
        for draw in range(4):
            rng = rng + STEP
            plain[done, draw] = uniform(rng)


@pytest.fixture(scope="module")
def numbers():
    lattice, plain = np.empty((BLOCKS * BLOCK, 4)), np.empty((BLOCKS * BLOCK, 4))
    fill(np.uint64(2026), np.uint64(0), lattice, plain)
    return lattice.reshape(BLOCKS, BLOCK, 4), plain.reshape(BLOCKS, BLOCK, 4)


def discrepancy(points):
    """Mean square error over all shifts, as a share of that of independent numbers.

    P_2, the error of the worst function with square-integrable mixed first derivatives (Sloan and
    Joe, Lattice Methods for Multiple Integration, 1994, section 4.2: from memory); points of a
    lattice in a row, so that their differences are those from the first.
    """
    count = len(points)
    gap = np.mod(points[1:] - points[0], 1.0)
    terms = np.prod(1.0 + 2.0 * np.pi**2 * (gap * gap - gap + 1.0 / 6.0), axis=1)
    total = count * DIAGONAL + (2.0 * np.arange(count - 1, 0, -1) * terms).sum()
    return (total / count**2 - 1.0) / ((DIAGONAL - 1.0) / count)


def test_a_block_fills_every_dimension_in_equal_steps(numbers):
    # Derived: odd strides, so each coordinate takes every multiple of 1/16384 once, shifted.
    steps = np.sort(numbers[0][7], axis=0) * BLOCK
    assert np.abs(steps - steps[0] - np.arange(BLOCK)[:, None]).max() < 1e-9


@pytest.mark.parametrize(("count", "share"), [(256, 0.6), (1024, 0.4), (4096, 0.3), (BLOCK, 0.3)])
def test_histories_in_a_row_are_spread_more_evenly_than_by_chance(numbers, count, share):
    assert discrepancy(numbers[0][3, :count]) < share


def test_shifts_are_uniform_and_unrelated(numbers):
    first = numbers[0][:, 5]
    for one, other in [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)]:
        place = (first[:, one] * 4).astype(int) * 4 + (first[:, other] * 4).astype(int)
        assert_distribution(np.bincount(place, minlength=16), np.full(16, 1 / 16), what="shifts")
    products = (first[:-1] - 0.5) * (first[1:] - 0.5)
    assert_mean(products.mean(axis=1), 0.0, what="covariance of a block with the next")


def test_no_bias_against_plain_numbers_and_less_scatter(numbers):
    """A slanted body of a ninth of the cube or so: what an emission may be asked for."""
    shares = [
        (np.hypot(n[..., 0] - 0.5, n[..., 2] + n[..., 1] * n[..., 3] - 0.5) < 0.25).mean(axis=1)
        for n in numbers
    ]
    assert_same_mean(*shares, what="share inside")
    assert shares[0].var() < 0.3 * shares[1].var()
