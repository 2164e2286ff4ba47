"""The numbers of the emission: even over a block, uniform and unbiased over the blocks."""

import itertools

import numpy as np
import pytest
from scipy.stats import qmc

from photonsim.kernel.digital_net import BLOCK_BITS, columns, spread
from photonsim.kernel.entry import jit_entry
from photonsim.kernel.random import mix, next_state, start, uniform_as
from tests.chance import (
    assert_distribution,
    assert_mean,
    assert_same_mean,
    assert_variance_at_most,
)

BLOCK = 1 << BLOCK_BITS
BLOCKS = 256
# Sobol's sequence in four dimensions is a (t, 4)-sequence with t the sum of the degrees of its
# primitive polynomials less one each, 0 + 0 + 1 + 2 (I. M. Sobol, USSR Comput. Math. Math. Phys. 7,
# 86 (1967): from memory).
QUALITY = 3


@jit_entry
def fill(seed, first, net, plain):
    """Write numbers [histories, 4] for the emission, of the net and drawn plainly."""
    for done in range(net.shape[0]):
        history = first + np.uint64(done)
        rng = start(seed, history)
        net[done] = spread(1.0, seed, history, mix(rng))
        for draw in range(4):
            rng = next_state(rng)
            plain[done, draw] = uniform_as(1.0, rng)


@pytest.fixture(scope="module")
def numbers():
    net, plain = np.empty((BLOCKS * BLOCK, 4)), np.empty((BLOCKS * BLOCK, 4))
    fill(np.uint64(2026), np.uint64(0), net, plain)
    return net.reshape(BLOCKS, BLOCK, 4), plain.reshape(BLOCKS, BLOCK, 4)


def test_columns_are_those_of_sobols_sequence():
    """As in scipy, which has the direction numbers of Joe and Kuo (2008) too, in another order."""
    points = np.zeros(1, dtype=np.uint64)
    for column in columns():
        points = np.concatenate([points, points ^ np.uint64(column)])
    ours = np.stack([points >> np.uint64(shift) & np.uint64(0xFFFF) for shift in (48, 32, 16, 0)])
    theirs = qmc.Sobol(4, scramble=False).random(BLOCK).T * 2.0**16
    assert np.array_equal(ours[:, np.argsort(ours[0])], theirs[:, np.argsort(theirs[0])])


@pytest.mark.parametrize("begin", [0, BLOCK // 2, BLOCK - 256])
def test_a_batch_takes_every_step_of_each_number_once(numbers, begin):
    steps = np.floor(numbers[0][7, begin : begin + 256] * 256.0)
    assert np.array_equal(np.sort(steps, axis=0), np.arange(256)[:, None] * np.ones(4))


def test_a_block_is_a_net(numbers):
    """Any box of 2**-10 that halving makes, however it lies, holds 2**3 of 2**13 points."""
    halvings = BLOCK_BITS - QUALITY
    for shape in itertools.product(range(halvings + 1), repeat=4):
        if sum(shape) == halvings:
            places = np.floor(numbers[0][3] * 2.0 ** np.array(shape)).astype(int)
            box = np.ravel_multi_index(places.T, [1 << k for k in shape])
            assert (np.bincount(box, minlength=1 << halvings) == 1 << QUALITY).all()


def test_scrambling_is_uniform_and_unrelated(numbers):
    # The fourth history has no more than two digits of the net; the rest is scrambling.
    one_of_each = numbers[0][:, 5]
    for one, other in itertools.combinations(range(4), 2):
        place = (one_of_each[:, one] * 4).astype(int) * 4 + (one_of_each[:, other] * 4).astype(int)
        assert_distribution(np.bincount(place, minlength=16), np.full(16, 1 / 16), what="shifts")
    products = (one_of_each[:-1] - 0.5) * (one_of_each[1:] - 0.5)
    assert_mean(products.mean(axis=1), 0.0, what="covariance of a block with the next")


def test_digits_behind_the_net_are_uniform(numbers):
    places = (numbers[0][:32].ravel() * 2.0**24).astype(int) & 255
    assert_distribution(np.bincount(places, minlength=256), np.full(256, 1 / 256), what="digits")


@pytest.mark.parametrize("columns_rows", [(1, 1), (15, 3), (1, 11), (12, 6), (18, 22), (16, 4)])
def test_no_bias_and_less_scatter_whatever_the_array_of_emitters(numbers, columns_rows):
    """A slanted body of a fifth of the cube, repeated in each emitter: the hardest that they ask.

    A lattice was in step with arrays of 1 × 11, the net with a shift alone with 12 × 6 and 18 × 22.
    Over ten seeds this one had 0.11, 0.22, 0.15, 0.21, 0.40, 0.17 of the variance, the fifth from
    0.26 to 0.52: a few of its blocks are scrambled badly.
    """
    many = np.array([*columns_rows, 1, 1])
    shares = [
        (np.hypot(n[..., 0] - 0.5, n[..., 2] + n[..., 1] * n[..., 3] - 0.5) < 0.25).mean(axis=1)
        for n in (np.mod(each * many, 1.0) for each in numbers)
    ]
    assert_same_mean(*shares, what="share inside")
    assert_variance_at_most(shares[0], 0.5 * shares[1].var(), what="variance of the share")
