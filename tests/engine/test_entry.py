"""Compiled functions called without numba: what they are given is what they see."""

from typing import NamedTuple

import numpy as np
import pytest

from photonsim.kernel.compiler import COMPILED
from photonsim.kernel.entry import Flat, jit_entry


class Pair(NamedTuple):
    grid: np.ndarray
    factor: float


@jit_entry
def told(number, small, real, pair, found):
    found[0] = number
    found[1] = small
    found[2] = real
    found[3] = pair.grid[1, 2] * pair.factor
    found[4] = pair.grid.shape[0] * 10 + pair.grid.shape[1]


@jit_entry
def returns(found):
    return found[0]


@pytest.mark.parametrize("wrapped", [Flat, lambda value: value], ids=["flat", "plain"])
@pytest.mark.parametrize("real", [np.float32(0.1), 0.1])
def test_arguments_arrive_to_the_last_bit(wrapped, real):
    found = np.zeros(5)
    pair = Pair(np.arange(12.0).reshape(3, 4), -0.25)
    told(np.uint64(2**63 + 2**40), -7, real, wrapped(pair), found)
    assert found.tolist() == [2.0**63 + 2.0**40, -7.0, float(real), -1.5, 34.0]


def test_a_part_of_an_array_is_written_to_in_place():
    rows = np.zeros((4, 5))
    told(np.uint64(1), 2, 3.0, Pair(np.ones((2, 3)), 4.0), rows[2])
    assert rows[2].tolist() == [1.0, 2.0, 3.0, 4.0, 23.0] and not rows[[0, 1, 3]].any()


@pytest.mark.parametrize("spoil", ["strided", "read-only"])
def test_arrays_that_compiled_code_would_misread_are_refused(spoil):
    found = np.zeros(10)[::2] if spoil == "strided" else np.zeros(5)
    found.flags.writeable = spoil == "strided"
    with pytest.raises(ValueError, match="in C order"):
        told(np.uint64(1), 2, 3.0, Pair(np.ones((2, 3)), 4.0), found)


@pytest.mark.skipif(not COMPILED, reason="the compiler is off")
def test_what_returns_something_is_no_entry():
    with pytest.raises(TypeError, match="can only write to arrays"):
        returns(np.zeros(1))
