"""Emission guided to where photons count: the guide's slots, and the cells of directions they fill.

The two numbers that aim a photon fill their unit square evenly, whatever the lobe, and a cell is a
rectangle of it: a part of a ring of the Lambertian disc, whose squared radius is the first number
and whose turn is the second. A slot is a step of 2**-13 of the first number, which each history of
a block of the net has for itself. A cell owns a run of slots, 2**doublings of them, so it gets just
as many histories of each block, and each of them stands for 2 / 2**doublings photons as the lobe
sends them out.
"""

import math

from photonsim.kernel import codes
from photonsim.kernel.allotment import DOUBLINGS_AT, RING_AT, WEIGHT_AT
from photonsim.kernel.compiler import constant, jit
from photonsim.kernel.digital_net import step_of_third
from photonsim.kernel.numbers import short, typed, unsigned
from photonsim.kernel.tallies import EMISSION_RINGS, SLOTS

# Of a slot's entry, see allotment: the bits of a sector, a ring and doublings.
SECTORS, RINGS, DOUBLINGS = (1 << 8) - 1, (1 << 5) - 1, (1 << 3) - 1
PER_AREA = constant(1.0 / EMISSION_RINGS**2)
# The rim itself would be a photon that never rises.
BELOW_ONE = constant(1.0 - 2.0**-24)


@jit
def cell_of(first, second):
    """Return the cell (0..EMISSION_CELLS-1) of the two numbers that aim a photon."""
    ring = min(short(math.sqrt(first) * typed(first, EMISSION_RINGS)), short(RINGS))
    sectors = 4 * (2 * ring + 1)
    return unsigned(4 * ring * ring + min(short(second * typed(second, sectors)), sectors - 1))


@jit
def cell_in(entry):
    """Return the cell of a slot's entry."""
    ring = (entry >> RING_AT) & RINGS
    return unsigned(4 * ring * ring + (entry & SECTORS))


@jit
def entry_of(program, seed, history):
    """Return the entry of the slot of a history (`seed`, `history` uint64)."""
    return short(program.guide[step_of_third(seed, history)])


@jit
def steered(program, seed, history, first, second):
    """Return the two numbers that aim a photon, led into the cell of the first one's slot.

    Where the slot lies in the cell's run, and what is left of the first number, give the place
    along the turn; the second number gives that across the ring. The slot comes from the net's own
    digits: its entry is there sooner than the number could be made a slot again.
    """
    slot = short(step_of_third(seed, history))
    entry = entry_of(program, seed, history)
    doublings = (entry >> DOUBLINGS_AT) & DOUBLINGS
    ring = unsigned((entry >> RING_AT) & RINGS)
    before = typed(first, (entry & SECTORS) - (slot >> doublings))
    turn = before + first * typed(first, short(SLOTS) >> doublings)
    area = typed(first, ring * ring) + typed(first, 2 * ring + 1) * second
    return min(area * PER_AREA, BELOW_ONE), turn / typed(first, 4 * (2 * ring + 1))


@jit
def weight_of(program, seed, history):
    """Return what a history counts for, in units of the smallest weight; 1 without a guide."""
    if program.traits & codes.GUIDED:
        return short(short(1) << (entry_of(program, seed, history) >> WEIGHT_AT))
    return short(1)
