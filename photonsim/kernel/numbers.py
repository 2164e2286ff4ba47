"""Numbers in the precision at work: double on the CPU, single or double on a GPU.

An expression has the type of its variables, so long as nothing widens it on the way: literals stand
here (see compiler.constant), and whole numbers or constants that are not exact in single precision
are turned into the type of a variable beside them by `typed`.
"""

import numpy as np

from photonsim.kernel.compiler import constant, jit

ZERO = constant(0.0)
QUARTER = constant(0.25)
HALF = constant(0.5)
ONE = constant(1.0)
TWO = constant(2.0)
# Farther than anything: 1e30 mm.
FAR = constant(2.0**100)
# Vanishes beside 1 in single precision, not in double.
SPECK = constant(2.0**-30)


@jit
def typed(like, value):
    """Return a number in the type of `like`."""
    return type(like)(value)


@jit
def unsigned(whole):
    """Return a whole number, 0 or more, as an index that is known not to count from the end."""
    return np.uint32(whole)


@jit
def short(whole):
    """Return a whole number in 32 bits: a GPU handles one of 64 bits in two halves."""
    return np.int32(whole)


@jit
def whole_below(x):
    """Return the largest whole number not above x, in the type of x, for |x| below 2**31."""
    towards_zero = typed(x, np.int32(x))
    return towards_zero - ONE if towards_zero > x else towards_zero


@jit
def is_single(like):
    """Tell whether a variable is of single precision; known when compiling, so it costs nothing."""
    return typed(like, ONE) + SPECK == typed(like, ONE)
