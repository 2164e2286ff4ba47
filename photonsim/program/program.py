"""The program: a scene as the kernel reads it, arrays and numbers only."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.floating[Any]]
Wholes = NDArray[np.int64]


class Program(NamedTuple):
    """Flat arrays for the kernel. Lengths in mm; n layers, g emitter groups, k wavelengths.

    Columns are named in kernel.codes. Layers rise with z; gap i lies between layers i and i + 1.
    """

    layer_kind: Wholes  # [n]
    layer_z: Reals  # [n]
    layer_half_x: Reals  # [n] half the outline
    layer_half_y: Reals  # [n]
    layer_real: Reals  # [n, LAYER_REALS]
    layer_whole: Wholes  # [n, LAYER_WHOLES]
    layer_index: Reals  # [n, k] refractive index by wavelength; of a face: on the screen's side
    layer_index_below: Reals  # [n, k] of a face: on the lamp's side
    gap_side: Wholes  # [n] what bounds the gap above a layer sideways
    walls: Reals  # [WALL_ENTRIES]
    emitter_shares: Reals  # [g] cumulative share of the flux
    emitter_real: Reals  # [g, EMITTER_REALS]
    emitter_whole: Wholes  # [g, EMITTER_WHOLES]
    wavelength_shares: Reals  # [k] cumulative share of the photons
    strip_edges: Reals  # edges of listed strips, rising within a sheet
    tables: Reals  # tabulated functions, one after another
    panel_per_width: float  # 1 / active width
    panel_per_height: float
    stop_per_radius: float
    screen: Reals  # [SCREEN_ENTRIES]
    spot_per_mm: Reals  # [CELLS * CELLS] spot bins per mm, on the panel's scale
    colour_of: Wholes  # [k] which of the three colours a wavelength counts as
    traits: int  # bits of kernel.codes: what there is in this program; see traits_of
