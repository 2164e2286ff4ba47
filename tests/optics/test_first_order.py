"""Formulae of first-order optics against handbook values, identities and independent sums.

'published' values stand in the source named; 'derived' ones come from an independent short script;
'from memory' marks sources that were not at hand.
"""

import math
from collections.abc import Callable

import numpy as np
import pytest

from photonsim.optics.facts import facts_of
from photonsim.optics.first_order import (
    Source,
    brightest_flux,
    cone_share,
    cos4,
    facing_share,
    film_angles,
    flattest_pitch,
    lambertian_etendue,
    lattice_uniformity,
    recycled_luminance,
)
from photonsim.scene import Scene
from photonsim.scene.scatter import most_haze
from photonsim.summary.scene_summary import scene_summary


def test_cone_and_cos4() -> None:
    # Smith, p. 262, example 12.1: N = 10 W/(sr cm²), 30° -> 7.85 W/cm²; 45° off axis 1.96.
    on_axis = 10 * math.pi * cone_share(30)
    assert on_axis == pytest.approx(7.85398, abs=1e-5)
    assert on_axis * cos4(45) == pytest.approx(1.96350, abs=1e-5)
    # sin² atan(1 / 2N), exact.
    for f_number, share in ((2.8, 0.03090), (4, 0.015385), (5.6, 0.007909), (8, 0.003891)):
        angle = math.degrees(math.atan(0.5 / f_number))
        assert cone_share(angle) == pytest.approx(share, rel=2e-4)


@pytest.mark.parametrize(
    # (I0 / Φ = (m + 1) / 2 π; flux inside 30°: 1 - cos^(m+1) 30°; exact identities.)
    ("exponent", "inside"),
    [(1.0, 0.25), (2.0, 0.350481), (4.0, 0.512861), (8.0, 0.725984)],
)
def test_brightest_part_of_a_lobe_is_that_near_the_axis(exponent: float, inside: float) -> None:
    source = Source(area_mm2=10.0, flux_lm=100.0, exponent=exponent)
    etendue = lambertian_etendue(10.0) * cone_share(30)
    assert brightest_flux([source], etendue) == pytest.approx(100 * inside, abs=1e-4)
    assert source.axis_luminance == pytest.approx(100 * (exponent + 1) / (20 * math.pi))


def test_wide_lobe_is_brightest_at_grazing_angles() -> None:
    """Even intensity (m = 0): light beyond θ has the share cos θ and the étendue π A cos² θ."""
    source = Source(area_mm2=1.0, flux_lm=1.0, exponent=0.0)
    assert brightest_flux([source], 0.25 * math.pi) == pytest.approx(0.5, abs=1e-9)
    assert source.peak_luminance == math.inf


def test_brighter_group_is_taken_first() -> None:
    bright, dim = Source(2.0, 80.0), Source(8.0, 20.0)
    whole = lambertian_etendue(10.0)
    assert brightest_flux([dim, bright], 0.1 * whole) == pytest.approx(40)
    assert brightest_flux([dim, bright], 0.2 * whole) == pytest.approx(80)
    assert brightest_flux([dim, bright], 0.6 * whole) == pytest.approx(90)
    assert brightest_flux([dim, bright], 1.5 * whole) == 100


def test_brightest_flux_against_sorted_cells() -> None:
    """A mix of lobes, cut to cells in phase space and sorted by luminance by hand."""
    sources = [Source(3.0, 50.0, 2.5), Source(5.0, 30.0, 0.5), Source(4.0, 40.0, 1.0)]
    cells = []
    for source in sources:
        squared = (np.arange(20000) + 0.5) / 20000  # sin² θ: cells of equal étendue
        luminance = source.axis_luminance * (1 - squared) ** (0.5 * (source.exponent - 1))
        size = math.pi * source.area_mm2 / 20000
        cells += list(zip(luminance, np.full(20000, size), strict=True))
    luminances, sizes = np.array(sorted(cells, reverse=True)).T
    for etendue in (1.0, 9.0, 25.0):
        expected = float(np.interp(etendue, np.cumsum(sizes), np.cumsum(luminances * sizes)))
        assert brightest_flux(sources, etendue) == pytest.approx(expected, rel=3e-3)


def test_returning_light_at_most_adds_a_geometric_series() -> None:
    """A mirror that returns all light to a face of R = 0.5: 1 + R + R² + ... = 2."""
    source = Source(math.pi, math.pi**2)
    assert recycled_luminance([(source, 0.5)]) == pytest.approx(2.0)
    assert recycled_luminance([(source, 0.5), (Source(math.pi, 1.0), 0.6)]) == pytest.approx(2.0)
    assert recycled_luminance([(source, 1.0)]) == math.inf
    # 60 degrees to half intensity is Lambertian but for rounding.
    half = -math.log(2.0) / math.log(math.cos(math.radians(60.0)))
    assert recycled_luminance([(Source(math.pi, math.pi**2, half), 0.0)]) == pytest.approx(1.0)


def test_flattest_pitch() -> None:
    """Moreno et al., Appl. Opt. 45, 2265 (2006): a 2 x 2 square (derived roots)."""
    assert flattest_pitch(30.0) == 30.0
    assert flattest_pitch(1.0, exponent=29.0) == pytest.approx(0.35355, abs=1e-5)


@pytest.mark.parametrize(
    ("distance", "uniformity"),
    [(0.5, 0.439450), (0.8, 0.854497), (1.0, 0.951635), (1.5, 0.997423)],
)
def test_lattice_uniformity(distance: float, uniformity: float) -> None:
    """An endless square lattice of Lambertian point emitters, by direct summation (derived)."""
    assert lattice_uniformity(1.0, 1.0, distance) == pytest.approx(uniformity, abs=2e-6)
    assert lattice_uniformity(8.0, 8.0, 8 * distance) == pytest.approx(uniformity, abs=2e-6)


def test_lattice_uniformity_of_an_oblong_lattice_of_beams() -> None:
    """Against the plain sum of I0 cos^n θ cos θ / r² over 400 x 400 emitters (derived)."""
    x, y = 6.0 * np.arange(-200, 200)[:, None], 9.0 * np.arange(-200, 200)[None, :]
    over, middle = (
        ((x - dx) ** 2 + (y - dy) ** 2 + 49.0) ** -3.0 for dx, dy in ((0, 0), (3.0, 4.5))
    )  # n = 3: exponent -(n + 3) / 2
    expected = middle.sum() / over.sum()
    assert lattice_uniformity(6.0, 9.0, 7.0, exponent=3.0) == pytest.approx(expected, rel=1e-6)
    assert lattice_uniformity(6.0, 90.0, 7.0) == 0.0


@pytest.mark.parametrize(
    ("index", "onset", "straightened"),
    [
        (1.490, 4.241, 25.302),
        (1.500, 4.788, 25.812),
        (1.560, 8.021, 28.899),
        (1.586, 9.401, 30.254),
        (1.600, 10.141, 30.990),
    ],
)
def test_film_angles(index: float, onset: float, straightened: float) -> None:
    """Snell's law at the flat side and a 45° facet (derived)."""
    angles = film_angles(index)
    assert angles.onset_deg == pytest.approx(onset, abs=6e-4)
    assert angles.straightened_deg == pytest.approx(straightened, abs=6e-4)


def test_film_of_blunt_or_sharp_ridges() -> None:
    assert film_angles(1.5, apex_deg=140.0).onset_deg == 0.0
    # A thin prism of facet angle b bends light by (n - 1) b (Hecht, Optics, section 5.5).
    assert film_angles(1.5, apex_deg=176.0).straightened_deg == pytest.approx(0.5 * 2.0, rel=2e-3)
    assert film_angles(2.4, apex_deg=40.0).straightened_deg is None


def test_haze_of_a_gaussian_lobe() -> None:
    """ASTM D1003's 2.5°; full widths 5°, 10°, 20°, 40° at half intensity (derived)."""
    for full_width, haze in ((5, 0.5), (10, 0.8409), (20, 0.9576), (40, 0.9892)):
        assert most_haze(0.5 * full_width) == pytest.approx(haze, abs=6e-4)


def test_etendue_of_a_slow_cone() -> None:
    """π A sin² θ against π A / 4 N²: 1.5 % apart at f/4 with θ = atan(1 / 2N) (definition)."""
    exact = lambertian_etendue(100.0) * cone_share(math.degrees(math.atan(1 / 8)))
    assert exact == pytest.approx(math.pi * 100 * 0.015385, rel=1e-4)
    assert math.pi * 100 / 64 / exact == pytest.approx(1.015625, rel=1e-6)


@pytest.mark.parametrize(
    "faces",
    [
        # Nearly flat: f = 193 m, longer than a scene file may say of an ideal lens.
        {"radius_lamp_mm": -1.0e5},
        # A thick meniscus: its principal planes lie below the base.
        {"radius_lamp_mm": -35.0, "radius_screen_mm": -36.0, "thickness_mm": 30.0},
        # A ball of glass the size of a pinhead.
        {"radius_lamp_mm": 0.5, "radius_screen_mm": -0.5, "diameter_mm": 0.9, "thickness_mm": 1.0},
    ],
)
def test_facts_of_lenses_that_no_ideal_lens_of_a_scene_stands_for(
    lamp: Callable[..., Scene], faces: dict[str, float]
) -> None:
    lens = {"kind": "real_lens", "z_mm": 60.0, "diameter_mm": 30.0, "thickness_mm": 3.0}
    scene = lamp({"train.lens<stop": lens | {"index": 1.52} | faces})
    assert [lens.name for lens in facts_of(scene).lenses] == ["field_lens", "lens"]
    assert scene_summary(scene)


def test_how_much_of_a_rectangle_s_light_meets_its_like():
    """Opposite faces of a cube: 0.1998 (Howell's catalogue, C-11). Endless strips by crossed
    strings: (2 sqrt(2) - 2) / 2 where they are as wide as far apart (Hottel). Both from
    memory."""
    assert facing_share(1.0, 1.0) == pytest.approx(0.1998, abs=5e-5)
    assert facing_share(1.0, 1e4) == pytest.approx(math.sqrt(2.0) - 1.0, abs=1e-4)
    assert facing_share(1e4, 1.0) == pytest.approx(math.sqrt(2.0) - 1.0, abs=1e-4)
