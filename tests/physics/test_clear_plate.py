"""Clear plate: its shares against handbook formulas, and whole plates in Lambertian light."""

import math

import pytest
import tmm
from scipy import integrate

from photonsim.kernel.clear_plate import shares
from photonsim.scene import index_at
from tests.chance import assert_proportion
from tests.physics.tracing import box, emitter, stop, target, trace

PHOTONS = 640_000
# Perfect mirrors keep the angle from the axis: the plate is as good as infinite.
MIRRORS = "reflectance = 1.0, specular_share = 1.0"


def plate(index, absorption=0.0):
    return (
        f'[train.plate]\nkind = "clear_plate"\nz_mm = 5.0\nthickness_mm = 1.0\n{index}\n'
        f"absorption_per_pass = {absorption}\n"
    )


def natural(cos_in, index, kept):
    """Return the (transmitted, reflected) shares of unpolarised light."""
    return tuple(0.5 * (s + p) for s, p, _ in shares(cos_in, index, kept))


def lambertian_mean(index, kept=1.0, which=0):
    return integrate.quad(lambda s: natural(math.sqrt(1.0 - s), index, kept)[which], 0, 1)[0]


@pytest.mark.parametrize(("index", "through"), [(1.5, 0.923077), (1.586, 0.902317)])
def test_straight_on(index, through):
    # T = (1 - r)/(1 + r), the incoherent sum over two faces (Hecht, Optics, section 4.6; figures
    # from check-values section 2, exact).
    assert natural(1.0, index, 1.0) == pytest.approx((through, 1 - through), abs=1e-6)


@pytest.mark.parametrize(
    ("index", "through"), [(1.5, 0.850938), (1.49, 0.853214), (1.586, 0.831841)]
)
def test_lambertian_light(index, through):
    # Derived (check-values section 2): by quadrature here, by photons below.
    assert lambertian_mean(index) == pytest.approx(through, abs=2e-6)
    text = box(50.0, 10.0, walls=MIRRORS) + emitter() + plate(f"index = {index}")
    traced = trace(text + target(10.0, 50.0) + stop(10.1, 200.0), PHOTONS)
    assert_proportion(traced.incident.sum(), traced.photons, through, known_to=1e-6)


def test_absorption_against_the_sum_of_internal_passes():
    # Derived: follow the light to and fro, one face after another; faces by tmm.interface_R.
    index, kept, angle = 1.5, 0.8, 0.9
    through = back = 0.0
    for polarisation in "sp":
        refracted = tmm.snell(1.0, index, angle).real
        face = tmm.interface_R(polarisation, 1.0, index, angle, refracted)
        inside = 0.5 * (1.0 - face)
        back += 0.5 * face
        for _ in range(50):
            inside *= kept
            through += inside * (1.0 - face)
            inside *= face * kept
            back += inside * (1.0 - face)
            inside *= face
    assert natural(math.cos(angle), index, kept) == pytest.approx((through, back), abs=1e-12)


@pytest.mark.parametrize("angle", [0.1, 0.7, 1.2, 1.5])
def test_against_incoherent_layers_of_tmm(angle):
    # tmm.inc_tmm sums a thick layer without interference, polarisation by polarisation.
    layers = ([1.0, 1.586, 1.0], [math.inf, 2e6, math.inf], ["i", "i", "i"])
    both = [tmm.inc_tmm(p, *layers, angle, 550.0) for p in "sp"]
    expected = [sum(result[name] for result in both) / 2 for name in "TR"]
    assert natural(math.cos(angle), 1.586, 1.0) == pytest.approx(expected, abs=1e-12)


def test_absorbing_plate_in_lambertian_light():
    absorbed = 1.0 - lambertian_mean(1.5, 0.9) - lambertian_mean(1.5, 0.9, which=1)
    text = box(50.0, 10.0, walls=MIRRORS) + emitter() + plate("index = 1.5", absorption=0.1)
    traced = trace(text + target(10.0, 50.0) + stop(10.1, 200.0), PHOTONS)
    assert_proportion(traced.fates["absorbed by plate"], traced.photons, absorbed)
    assert_proportion(
        traced.fates["absorbed by base"], traced.photons, lambertian_mean(1.5, 0.9, 1)
    )


# Check-values-2, section 9: measured with an array spectrophotometer, straight on, no sphere (P. J.
# Aphalo, R package photobiologyFilters, raw.data/acetate; index 1.475 from memory). The absorption
# is that of 0.1855 per mm (base e), from the ratio of the two alone. A face left out would show.
# Of that section the Fresnel sheet in sunlight is left out: its f-number, index and draft, on which
# its losses hang, are not told, and the figures are a calculation of others.
@pytest.mark.parametrize(("mm", "measured"), [(0.115, 0.908), (0.480, 0.848)])
def test_measured_acetate_films(mm, measured):
    kept = math.exp(-0.1855 * mm)
    assert natural(1.0, 1.475, kept)[0] == pytest.approx(measured, abs=0.004)


def test_what_a_maker_says_of_clear_acrylic_sheet():
    # Check-values-2, section 9: a maker's article, 'approximately': 92 % straight on, and 85 % of
    # the light of a sky of even brightness.
    assert natural(1.0, 1.49, 1.0)[0] == pytest.approx(0.92, abs=0.006)
    assert lambertian_mean(1.49) == pytest.approx(0.85, abs=0.006)


def test_limits_that_measured_sheets_keep_or_break():
    # Check-values-2, section 9 (same package), straight on. Polycarbonate of unknown thickness,
    # 0.872 at 550 nm: below the lossless plate, by 3 % a pass. Drafting film of polyester, 0.917 at
    # 633 nm: more than bare polyester of 1.636 lets through, so films carry coats of less index.
    lossless = natural(1.0, 1.587, 1.0)[0]
    assert lossless == pytest.approx(0.902, abs=0.001)
    assert natural(1.0, 1.587, 0.97)[0] == pytest.approx(0.872, abs=0.004)
    bare = natural(1.0, 1.636, 1.0)[0]
    assert bare == pytest.approx(0.890, abs=0.001)
    coated = tmm.inc_tmm(
        "s", [1, 1.5, 1.636, 1.5, 1], [math.inf, 1e6, 1e6, 1e6, math.inf], ["i"] * 5, 0, 633
    )
    assert bare < 0.917
    assert bare < coated["T"] < 0.93


def test_two_wavelengths_see_two_indices():
    # A quarter of the photons at 436.8 nm, the rest at 632.8 nm: the mean of two plates. Derived.
    expected = 0.0
    for share, nm in ((0.25, 436.8), (0.75, 632.8)):
        expected += share * lambertian_mean(index_at("polycarbonate", nm))
    light = "light = { wavelengths_nm = [436.8, 632.8], shares = [1.0, 3.0] }\n"
    text = light + box(50.0, 10.0, walls=MIRRORS) + emitter() + plate('material = "polycarbonate"')
    traced = trace(text + target(10.0, 50.0) + stop(10.1, 200.0), PHOTONS)
    assert_proportion(traced.incident.sum(), traced.photons, expected)
