"""What runs compiled: random numbers, sampling, one file per part, the life of a photon.

This file imports nothing, so that `photonsim.kernel.codes` can be read without starting numba.
"""
