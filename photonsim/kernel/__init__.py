"""What runs compiled: random numbers, sampling, the life of a photon.

Many files lie flat here: one file for each kind of part and emitter, as in scene/, so that whoever
adds a part finds its place by its name, and one file for each of what they share.
This file imports nothing, so that `photonsim.kernel.codes` can be read without starting numba.
"""
