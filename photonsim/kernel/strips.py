"""Strips and gaps: whether a sheet covers the place where a photon crosses it."""

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import whole_below


@jit
def covered(program, layer, x, y):
    """Tell whether a layer is there at the point (x, y) in mm: a sheet has an outline and gaps."""
    cut = program.layer_whole[layer, codes.CUT]
    if cut == codes.NO_SHEET:
        return True
    if abs(x) > program.layer_half_x[layer] or abs(y) > program.layer_half_y[layer]:
        return False
    if cut == codes.WHOLE:
        return True
    along = x if cut == codes.REGULAR_X or cut == codes.LISTED_X else y
    if cut <= codes.REGULAR_Y or not program.traits & codes.LISTED_STRIPS:
        real = program.layer_real
        place = along * real[layer, codes.STRIP_PER_PITCH] + real[layer, codes.STRIP_SHIFT]
        return place - whole_below(place) < real[layer, codes.STRIP_SHARE]
    # Edges rise: covered after an odd number of them.
    first = program.layer_whole[layer, codes.CUT_FIRST]
    inside = False
    for edge in range(first, first + program.layer_whole[layer, codes.CUT_COUNT]):
        if along < program.strip_edges[edge]:
            break
        inside = not inside
    return inside
