"""What the stop accepts, and where lenses image things, against integrals and identities."""

import math
from collections.abc import Callable

import numpy as np
import pytest
from scipy.integrate import dblquad

from photonsim.optics.acceptance import acceptance_of
from photonsim.optics.facts import facts_of
from photonsim.optics.paraxial import image_back, image_of, parallel_focus
from photonsim.scene import Bend, Scene

Lamp = Callable[..., Scene]

LENS = "train.field_lens"
PANEL_MM2 = 95.04 * 53.86


def lens(z_mm: float, focal_mm: float) -> Bend:
    return Bend(z_mm, 1.0 / focal_mm, 1.0, "")


def element_to_disc(radius: float, distance: float, offset: float) -> float:
    """Share of a Lambertian element's light that falls on a parallel disc `offset` off its axis.

    F = ½ [1 - (h² + l² - r²) / sqrt((h² + l² + r²)² - 4 r² l²)] (P. Foote, Bull. Bur. Stand. 12,
    583 (1915); Howell's catalogue of configuration factors; from memory).
    """
    h, r, l_squared = distance**2, radius**2, offset**2
    root = math.sqrt((h + l_squared + r) ** 2 - 4.0 * r * l_squared)
    return 0.5 * (1.0 - (h + l_squared - r) / root)


def rectangle_to_disc(width: float, height: float, distance: float, radius: float) -> float:
    """Configuration factor of a rectangle to a coaxial disc: element to disc, integrated."""
    total, _ = dblquad(
        lambda y, x: element_to_disc(radius, distance, math.hypot(x, y)),
        *(0.0, 0.5 * width, 0.0, 0.5 * height),
    )
    return 4.0 * total / (width * height)


@pytest.mark.parametrize(
    ("radius", "distance", "offset", "factor"),
    [
        # Howell's catalogue, element to parallel disc (from memory, recomputed).
        (1.0, 1.0, 0.0, 0.5),
        (1.0, 2.0, 0.0, 0.2),
        (1.0, 1.0, 0.5, 0.4379826),
        # P. Foote (1915) at 45° off axis, half angle 30°: H = 2.79610 for N = 10, so F = H / 10 π
        # (W. J. Smith, Modern Optical Engineering, 4th ed., p. 262; form from memory).
        (math.tan(math.radians(30)), 1.0, 1.0, 0.08900253),
    ],
)
def test_reference_of_these_tests(
    radius: float, distance: float, offset: float, factor: float
) -> None:
    assert element_to_disc(radius, distance, offset) == pytest.approx(factor, abs=1e-7)


def test_coaxial_discs_by_integrating_elements() -> None:
    """Siegel & Howell, Thermal Radiation Heat Transfer, 4th ed., p. 845: 0.1339 (published)."""
    radii = (np.arange(2000) + 0.5) * (0.1 / 2000)
    shares = [element_to_disc(0.2, 0.5, radius) for radius in radii]
    assert np.average(shares, weights=radii) == pytest.approx(0.1339313, abs=1e-6)


def test_rectangle_seen_from_an_element_under_its_corner() -> None:
    """Reciprocity: a rectangle's elements to a small disc give the disc's element to it.

    Howell: element under the corner of a square at a distance of one side: 0.1385316.
    """
    share, _ = dblquad(lambda y, x: element_to_disc(1e-3, 1.0, math.hypot(x, y)), 0, 1, 0, 1)
    assert share / (math.pi * 1e-6) == pytest.approx(0.1385316, abs=1e-6)


@pytest.mark.parametrize(("z_mm", "diameter_mm"), [(230.0, 40.0), (145.0, 120.0)])
def test_bare_panel_is_the_configuration_factor(
    lamp: Lamp, z_mm: float, diameter_mm: float
) -> None:
    """G = π A F, element to disc after Foote, integrated by scipy."""
    scene = lamp({LENS: None, "train.stop.z_mm": z_mm, "train.stop.diameter_mm": diameter_mm})
    found = acceptance_of(scene)
    factor = rectangle_to_disc(95.04, 53.86, z_mm - 45.0, 0.5 * diameter_mm)
    assert found.accepted_mm2sr == pytest.approx(math.pi * PANEL_MM2 * factor, rel=1e-6)
    corner = 0.5 * math.hypot(95.04, 53.86)
    for share, offset in ((found.centre, 0.0), (found.corner, corner)):
        expected = element_to_disc(0.5 * diameter_mm, z_mm - 45.0, offset)
        assert share == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("focal_mm", [180.0, 90.0, -200.0])
def test_lens_at_the_panel_leaves_the_etendue_as_it_was(lamp: Lamp, focal_mm: float) -> None:
    """A kick of direction cosines moves every cone and changes none (étendue is conserved)."""
    bare = acceptance_of(lamp({LENS: None}))
    found = acceptance_of(
        lamp(
            {
                "train.panel.thickness_mm": 0.0,
                f"{LENS}.z_mm": 45.0 + 1e-6,
                f"{LENS}.focal_mm": focal_mm,
            }
        )
    )
    assert found.accepted_mm2sr == pytest.approx(bare.accepted_mm2sr, rel=1e-6)


def test_weak_lens_is_no_lens(lamp: Lamp) -> None:
    bare = acceptance_of(lamp({LENS: None}))
    weak = acceptance_of(
        lamp({f"{LENS}.z_mm": 150.0, f"{LENS}.focal_mm": 1e5, f"{LENS}.diameter_mm": 2e3})
    )
    assert weak.accepted_mm2sr == pytest.approx(bare.accepted_mm2sr, rel=4e-3)


def test_stop_in_the_lens_plane_is_the_lens_rim(lamp: Lamp) -> None:
    """A lens right at the stop does not change what goes through the stop."""
    bare = acceptance_of(lamp({LENS: None}))
    found = acceptance_of(
        lamp({f"{LENS}.z_mm": 230.0 - 1e-6, f"{LENS}.diameter_mm": 41.0, f"{LENS}.focal_mm": 100.0})
    )
    assert found.accepted_mm2sr == pytest.approx(bare.accepted_mm2sr, rel=1e-6)
    assert found.cut_by == {"field_lens": 0.0}


def test_small_rim_is_the_stop(lamp: Lamp) -> None:
    """A lens rim of 20 mm beside a stop of 40 mm passes what a stop of 20 mm would (within the
    quadrature's 1e-3 at such a rim), and is named as what cuts."""
    small = acceptance_of(lamp({LENS: None, "train.stop.diameter_mm": 20.0}))
    found = acceptance_of(
        lamp({f"{LENS}.z_mm": 230.0 - 1e-6, f"{LENS}.diameter_mm": 20.0, f"{LENS}.focal_mm": 1e5})
    )
    assert found.accepted_mm2sr == pytest.approx(small.accepted_mm2sr, rel=1e-3)
    cut = 1.0 - small.accepted_mm2sr / found.open_mm2sr
    assert found.cut_by["field_lens"] == pytest.approx(cut, abs=1e-3)


@pytest.mark.parametrize("sides", [(30.0, 30.0), (24.0, 38.0)])
def test_rectangular_rim_at_the_stop(lamp: Lamp, sides: tuple[float, float]) -> None:
    """From a Lambertian element to a parallel rectangle whose corner lies above it, four times:
    F = (A / √(1+A²) atan(B / √(1+A²)) + B / √(1+B²) atan(A / √(1+B²))) / 2 pi, A and B the sides
    over the distance (Howell's catalogue, C-11; from memory). The stop's disc lies all outside."""
    sheet = {"kind": "fresnel_lens", "focal_mm": 1e5, "index": 1.5, "thickness_mm": 0.0}
    sheet |= {"z_mm": 230.0 - 1e-6, "width_mm": sides[0], "height_mm": sides[1]}
    wide = {"train.stop.diameter_mm": 46.0}
    found = acceptance_of(lamp({LENS: None, "train.sheet<stop": sheet, **wide}))
    a, b = (0.5 * side / (230.0 - 45.0) for side in sides)
    terms = [p / math.hypot(1, p) * math.atan(q / math.hypot(1, p)) for p, q in ((a, b), (b, a))]
    assert found.centre == pytest.approx(2.0 * sum(terms) / math.pi, rel=0.01)


def test_acceptance_agrees_with_the_tracer(lamp: Lamp) -> None:
    """Figures traced with 4 million photons from a Lambertian face under the panel, by
    photonsim.trace with seed 3: 0.015669(62) and 0.036892(94) (noted here, not run again)."""
    one = {f"{LENS}.z_mm": 80.0, f"{LENS}.focal_mm": 60.0, f"{LENS}.diameter_mm": 80.0}
    objective = {
        "kind": "ideal_lens",
        "z_mm": 180.0,
        "focal_mm": 100.0,
        "object_mm": 150.0,
        "diameter_mm": 90.0,
    }
    two = {**one, "train.objective<stop": objective}
    for changes, traced, error in ((one, 0.015669, 6.2e-5), (two, 0.036892, 9.4e-5)):
        share = acceptance_of(lamp(changes)).accepted_mm2sr / (math.pi * PANEL_MM2)
        # Five standard errors, and the quadrature's 1e-2 where rims cut so much.
        assert share == pytest.approx(traced, abs=5 * error + 1e-2 * traced)


def test_images() -> None:
    """1/s + 1/s' = 1/f: f = 200, s = 210 -> s' = 4200, m = -20, forwards and backwards."""
    image = image_of(90.0, [lens(300.0, 200.0)])
    assert (image.z_mm, image.magnification) == pytest.approx((4500.0, -20.0))
    back = image_back(4500.0, [lens(300.0, 200.0)])
    assert (back.z_mm, back.magnification) == pytest.approx((90.0, -0.05))
    # The biconvex lens of E. Hecht, Optics, section 6.1, from its principal planes: 238 cm (from
    # memory, recomputed).
    assert image_of(69.7765, [lens(100.0, 26.8156)]).z_mm == pytest.approx(337.8, abs=0.05)
    assert image_of(140.0, [lens(200.0, 100.0)]).z_mm == pytest.approx(50.0)  # a magnifier
    assert math.isinf(image_of(100.0, [lens(300.0, 200.0)]).z_mm)


def test_two_thin_lenses() -> None:
    """1/f = 1/f1 + 1/f2 - d / f1 f2, back focus f (1 - d / f1) (Hecht, Optics, section 5.2)."""
    pair = [lens(10.0, 100.0), lens(40.0, 50.0)]
    focal = 1.0 / (1 / 100 + 1 / 50 - 30 / 5000)
    assert parallel_focus(pair) == pytest.approx(40.0 + focal * 0.7)
    # Object in the front focus of the first: the image lies in the focus of the second, m = -f2/f1.
    image = image_of(-90.0, pair)
    assert (image.z_mm, image.magnification) == pytest.approx((90.0, -0.5))


def test_view_of_the_stop(lamp: Lamp) -> None:
    bare = facts_of(lamp({LENS: None})).view
    assert bare is not None
    assert bare.f_number == pytest.approx(185 / 40)
    assert bare.half_angle_deg == pytest.approx(math.degrees(math.atan(20 / 185)))
    corner = math.degrees(math.atan(0.5 * math.hypot(95.04, 53.86) / 185))
    assert bare.corner_leaves_deg == pytest.approx(corner)
    assert bare.corner_arrives_deg == pytest.approx(corner)
    # A stop in the focus of the lens takes parallel light: tan θ = r / f, wherever the panel is.
    focused = facts_of(lamp()).view
    assert focused is not None
    assert focused.corner_leaves_deg == pytest.approx(0.0, abs=1e-9)
    assert focused.f_number == pytest.approx(180 / 40)


def test_facts_of_the_point_lamp(lamp: Lamp) -> None:
    """Lamp in the focus of the first condenser: image in that of the second, m = -188 / 90."""
    facts = facts_of(lamp(name="point_lamp"))
    assert facts.emitter_etendue == pytest.approx(math.pi * math.pi * 16)
    assert facts.field_lens == "condenser_2"
    assert facts.lamp_image_mm == pytest.approx(292.0)
    assert facts.lenses[1].lamp.magnification == pytest.approx(-188 / 90)
    assert facts.lenses[0].stop.z_mm == pytest.approx(2.0)
    assert facts.ceiling_lm == 900.0  # 158 mm² sr fit into the stop's 185
    assert facts.transmittance == pytest.approx(0.06 * 0.92**2)


def test_ceilings_of_the_bars(lamp: Lamp) -> None:
    """Lambertian faces of 441 mm²: Φ G / π A, and that over 1 - R if the faces reflect."""
    facts = facts_of(lamp())
    assert facts.acceptance is not None
    share = facts.acceptance.accepted_mm2sr / (math.pi * 45 * 2.8 * 3.5)
    assert facts.ceiling_lm == pytest.approx(900 * share)
    assert facts.recycled_ceiling_lm == pytest.approx(2 * 900 * share)
    assert facts.picture_ceiling_lm == pytest.approx(2 * 900 * share * 0.06 * 0.90)
    # Each polarisation has half of the luminance: an axis passes twice as much of that half.
    in_line = facts_of(lamp({"train.panel.polariser_deg": 90.0}))
    assert in_line.picture_ceiling_lm == pytest.approx(facts.picture_ceiling_lm)


def test_ideal_lenses_behind_the_stop_take_their_share(lamp: Lamp) -> None:
    front = {"kind": "ideal_lens", "z_mm": 240.0, "focal_mm": 180.0, "diameter_mm": 60.0}
    facts = facts_of(lamp({"train.front": {**front, "transmittance": 0.8}}))
    assert facts.transmittance == pytest.approx(0.06 * 0.90 * 0.8)


def test_a_picture_gains_by_polarisation_where_the_stop_has_room(lamp: Lamp) -> None:
    """A face of 2 x 2 mm has 12.6 mm² sr: all its light, of one polarisation, fits through."""
    small = {"emitters.bars.columns": 1, "emitters.bars.rows": 1}
    size = {"emitters.bars.width_mm": 2.0, "emitters.bars.height_mm": 2.0}
    plain = facts_of(lamp({**small, **size}))
    in_line = facts_of(lamp({**small, **size, "train.panel.polariser_deg": 90.0}))
    assert plain.picture_ceiling_lm == pytest.approx(20 * 0.06 * 0.90)
    assert in_line.picture_ceiling_lm == pytest.approx(2 * 20 * 0.06 * 0.90)


def test_stop_in_an_image_of_the_panel_has_no_acceptance(lamp: Lamp) -> None:
    """f = 50 mm, 100 mm from the panel and 100 mm from the stop: imaged one to one."""
    facts = facts_of(
        lamp({f"{LENS}.z_mm": 145.0, f"{LENS}.focal_mm": 50.0, "train.stop.z_mm": 245.0})
    )
    assert facts.view is None
    assert facts.acceptance is None
    assert facts.ceiling_lm == 0.0
    assert facts.picture_ceiling_lm == pytest.approx(900 * facts.transmittance)  # no bound is known
