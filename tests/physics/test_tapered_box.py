"""Tapered mirror walls: a funnel keeps étendue, so what it passes is known without tracing.

Light that comes in at the narrow end of a mirror funnel runs on to the wide end; by reciprocity the
wide end's Lambertian light leaves at the narrow end in the ratio of the areas, and again Lambertian
and even, while the rest comes back (second law; Welford and Winston, The Optics of Nonimaging
Concentrators, chapter 2: from memory).
"""

import math

import numpy as np
import pytest

from tests.chance import assert_distribution, assert_proportion
from tests.physics.tracing import Traced, box, emitter, stop, target, trace

PHOTONS = 640_000
DEPTH = 40.0


def funnel(width: float, height: float, taper: float, specular_share: float = 1.0) -> Traced:
    slope = 2.0 * DEPTH * math.tan(math.radians(taper))
    walls = f"reflectance = 1.0, specular_share = {specular_share}, taper_deg = {taper}"
    return trace(
        box(width, DEPTH, height=height, walls=walls)
        + emitter(f"width_mm = {width}\nheight_mm = {height}")
        + target(DEPTH, width + slope, height + slope)
        + stop(DEPTH + 1.0, 1.0),
        PHOTONS,
    )


@pytest.mark.parametrize("taper", [-10.0, -25.0])
@pytest.mark.parametrize(("width", "height"), [(100.0, 100.0), (120.0, 70.0)])
def test_narrowing_funnel(width, height, taper):
    traced = funnel(width, height, taper)
    slope = 2.0 * DEPTH * math.tan(math.radians(taper))
    ratio = (width + slope) * (height + slope) / (width * height)
    mouth, floor = traced.incident.sum(), traced.back_on_floor
    assert_proportion(mouth, traced.photons, ratio)
    assert mouth + floor == traced.photons
    assert_distribution(traced.incident, np.full((9, 9), 1 / 81), what="places")
    degrees = np.sin(np.radians(np.arange(91))) ** 2
    assert_distribution(traced.polar, np.diff(degrees), what="angles")


def test_widening_funnel_passes_all():
    # Derived: perfect mirrors that lean outwards turn nothing back. It also narrows the light:
    # étendue, now over a wider mouth.
    traced = funnel(60.0, 60.0, 20.0)
    assert traced.incident.sum() == traced.photons
    assert traced.polar[:45].sum() / traced.photons > 0.6


def test_white_funnel_loses_nothing():
    # Energy: white walls that scatter send light to the mouth or back to the black floor.
    traced = funnel(100.0, 60.0, -15.0, specular_share=0.0)
    mouth, floor = traced.incident.sum(), traced.back_on_floor
    assert mouth + floor == traced.photons
