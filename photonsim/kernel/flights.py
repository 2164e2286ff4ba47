"""A history on its way, as a processor keeps it in memory while another takes its turn.

Plain data only, like kernel.codes; kernel.turns reads and writes it.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

# Two: with three or four the processor guesses branches less well, and loses what it won.
TURNS = 2
_REALS = (
    *("x", "y", "z", "u", "v", "w"),  # the photon
    *("panel_x", "panel_y", "panel_u", "panel_v", "panel_w"),  # as in history.Seen
    *("stop_x", "stop_y"),
    *("q_light", "u_light", "v_light"),  # its light, in a program with polarisers
)
_WHOLES = ("counts", "wavelength", "events", "weight", "lead", "met_panel", "at_part")


def no_flights(real: type[np.floating[Any]] = np.float64) -> NDArray[np.void]:
    """Return room for the histories that take turns, their real numbers of a type [TURNS]."""
    names = [("rng", np.uint64), ("number", np.uint64), *((name, real) for name in _REALS)]
    names += [("gap", np.uint32), *((name, np.int32) for name in _WHOLES)]
    return np.zeros(TURNS, np.dtype(names, align=True))
