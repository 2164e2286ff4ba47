"""The program: a scene as the kernel reads it, arrays and numbers only."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Reals

# In single precision for most graphics processors.
Floats = Reals | NDArray[np.float32]
Wholes = NDArray[np.int64]


class Program(NamedTuple):
    """Flat arrays for the kernel. Lengths in mm; n layers, g emitter groups, k wavelengths.

    Columns are named in kernel.codes. Layers rise with z; gap i lies between layers i and i + 1.
    """

    layer_kind: Wholes  # [n]
    layer_z: Floats  # [n]
    layer_half_x: Floats  # [n] half the outline
    layer_half_y: Floats  # [n]
    layer_real: Floats  # [n, LAYER_REALS]
    layer_whole: Wholes  # [n, LAYER_WHOLES]
    layer_index: Floats  # [n, k] refractive index by wavelength; of a face: on the screen's side
    layer_index_below: Floats  # [n, k] of a face: on the lamp's side; of a film: its base, or 1
    gap_side: Wholes  # [n] what bounds the gap above a layer sideways
    walls: Floats  # [WALL_ENTRIES]
    emitter_shares: Floats  # [g] cumulative share of the flux
    emitter_real: Floats  # [g, EMITTER_REALS]
    emitter_whole: Wholes  # [g, EMITTER_WHOLES]
    wavelength_shares: Floats  # [k] cumulative share of the photons
    strip_edges: Floats  # edges of listed strips, rising within a sheet
    tables: Floats  # tabulated functions, one after another
    panel_per_width: float  # 1 / active width
    panel_per_height: float
    stop_per_radius: float
    screen: Floats  # [SCREEN_ENTRIES]
    spot_per_mm: Floats  # [CELLS * CELLS] spot bins per mm, on the panel's scale
    colour_of: Wholes  # [k] which of the three colours a wavelength counts as
    guide: NDArray[np.int32]  # [SLOTS] entries of kernel.guide; [1] without a guide
    traits: int  # bits of kernel.codes: what there is in this program; see traits_of
