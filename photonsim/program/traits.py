"""What there is in a program, so that a kernel need not hold what no part of it asks for."""

from __future__ import annotations

import numpy as np

from photonsim.kernel import codes
from photonsim.program.program import Program


def traits_of(program: Program) -> int:
    """Return the bits of kernel.codes that describe a program; its own `traits` are not looked at.

    Raises nothing: it is found in the arrays themselves, so it cannot disagree with them.
    """
    real, whole = program.layer_real, program.layer_whole
    film = program.layer_kind == codes.PRISM_FILM
    panel = program.layer_kind == codes.PANEL
    root = program.emitter_real[:, codes.COSINE_ROOT]
    found = {
        codes.ROUND_EMITTERS: (program.emitter_whole[:, codes.FORM] == codes.DISC).any(),
        codes.COSINE_POWERS: ((root > 0.0) & (root != 0.5)).any(),
        codes.MEASURED_LOBES: (root == 0.0).any(),
        codes.EMITTER_GROUPS: len(program.emitter_shares) > 1,
        codes.WAVELENGTHS: len(program.wavelength_shares) > 1,
        codes.LISTED_STRIPS: (whole[~panel, codes.CUT] > codes.REGULAR_Y).any(),
        codes.FLAT_TIPS: (real[film, codes.FILM_TIP] > 0.0).any(),
        codes.ABSORBING_FILM: (real[film, codes.FILM_KEPT] < 1.0).any(),
        codes.COATED_FILM: (program.layer_index_below[film] > 1.0).any(),
        codes.PANEL_SCATTER: (real[panel, codes.LOBE_DIRECT] < 1.0).any(),
        codes.PANEL_ANGLES: (whole[panel, codes.ANGLE_COUNT] > 0).any(),
        codes.SCREEN: program.screen[codes.SCREEN_ON] > 0.0,
        codes.THICK_SHEETS: real[whole[:, codes.CUT] > codes.NO_SHEET, codes.SHEET_THICKNESS].any(),
        codes.GUIDED: len(program.guide) > 1,
        codes.POLARISED: np.isin(program.layer_kind, codes.POLARISERS).any()
        or real[panel][:, [codes.PANEL_BLOCKS_X, codes.PANEL_BLOCKS_Y]].any(),
    }
    kinds = sum(1 << int(kind) for kind in set(program.layer_kind.tolist()))
    return kinds | sum(bit for bit, is_there in found.items() if is_there)
