"""Literals for kernel code; see compiler.constant for why they are not written in place."""

from photonsim.kernel.compiler import constant

ZERO = constant(0.0)
HALF = constant(0.5)
ONE = constant(1.0)
TWO = constant(2.0)
FOUR = constant(4.0)
# Farther than anything: 1e30 mm.
FAR = constant(2.0**100)
