"""Numbers for the emission that fill a block of histories evenly: a lattice, shifted at random.

The four numbers that place and aim a new photon are, over a block of 2**14 histories, the points of
a rank-1 lattice in four dimensions instead of independent ones. Every block has a random shift of
its own (R. Cranley and T. N. L. Patterson, SIAM J. Numer. Anal. 13, 904 (1976)), so each number is
still uniform, an estimate is unbiased, and blocks are independent of each other. What depends on
the emission alone then averages out faster than by the law of large numbers.
"""

import numpy as np

from photonsim.kernel.compiler import jit
from photonsim.kernel.random import DRAWS_SHIFT, STEP, fraction, mix, start

# 2**14 histories: shorter blocks gain less on a ninth of the panel, longer ones would be longer
# than a batch in runs of a few million photons, and batches should be independent.
BLOCK_BITS = 14
# The generating vector (1, 182667, 469891, 498753) of R. Cools, F. Y. Kuo and D. Nuyens, SIAM J.
# Sci. Comput. 28, 2162 (2006), from memory, modulo 2**14. All times 7877: that leaves the points as
# they are, but in an order in which any 256 or more in a row are spread evenly too.
VECTOR = (7877, 8695, 5583, 7173)
STRIDE_1, STRIDE_2, STRIDE_3, STRIDE_4 = (np.uint64(z << (64 - BLOCK_BITS)) for z in VECTOR)
BLOCK_SHIFT = np.uint64(BLOCK_BITS)
NEXT_HISTORY = np.uint64(int(STEP) << int(DRAWS_SHIFT) & (1 << 64) - 1)


@jit
def spread(like, seed, history):
    """Return four numbers in [0, 1) for a history (`seed` and `history` uint64), typed as `like`.

    The shifts of a block are the counter values before the first draws of its first four histories,
    mixed: no history draws those, save one that comes to the very last of its 65,536 draws.
    """
    counter_1 = start(seed, history >> BLOCK_SHIFT << BLOCK_SHIFT)
    counter_2 = counter_1 + NEXT_HISTORY
    counter_3 = counter_2 + NEXT_HISTORY
    counter_4 = counter_3 + NEXT_HISTORY
    return (
        fraction(like, mix(counter_1) + history * STRIDE_1),
        fraction(like, mix(counter_2) + history * STRIDE_2),
        fraction(like, mix(counter_3) + history * STRIDE_3),
        fraction(like, mix(counter_4) + history * STRIDE_4),
    )
