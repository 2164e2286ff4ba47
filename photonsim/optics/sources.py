"""Groups of emitters as the sources of first-order optics: how bright, in how much étendue."""

from __future__ import annotations

import numpy as np

from photonsim.optics.first_order import Source
from photonsim.scene import Emitter, IntensityTable
from photonsim.scene.lm63 import zone_flux

# A measured lobe in cells of even luminance: finer ones shift a ceiling by less than 1 %.
POLAR_CELLS = 45
AZIMUTH_CELLS = 36
NARROW_DEG = 10.0


def sources_of(group: Emitter) -> list[Source]:
    """Return sources that together shine as a group does.

    One for a lobe cos^m. A measured lobe becomes one Lambertian source for each cell of directions,
    with the cell's flux and étendue, so with its luminance: bounds from étendue ask no more.
    """
    area_mm2 = group.face_mm2 * group.count
    flux_lm = group.flux_lm * group.count
    if group.intensity is None:
        return [Source(area_mm2, flux_lm, group.exponent)]
    return [Source(area_mm2 * cover, flux_lm * share) for cover, share in _cells(group.intensity)]


def _cells(table: IntensityTable) -> list[tuple[float, float]]:
    """Return (share of the étendue of a half space, share of the flux) of every lit cell."""
    # A narrow beam would be lost between cells of two degrees: there, the file's own angles too.
    beam = table.vertical_deg[table.vertical_deg < NARROW_DEG]
    polar = np.unique([*np.linspace(0.0, 90.0, POLAR_CELLS + 1), *beam])
    azimuth = np.linspace(0.0, 360.0, AZIMUTH_CELLS + 1)
    flux = zone_flux(polar, azimuth, table.at(polar, azimuth))
    covers = np.diff(np.sin(np.radians(polar)) ** 2) / AZIMUTH_CELLS
    return [
        (float(cover), float(share))
        for row in flux / flux.sum()
        for cover, share in zip(covers, row, strict=True)
        if share > 0.0
    ]
