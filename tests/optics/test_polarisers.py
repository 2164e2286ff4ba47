"""What sheets in line with a panel or turned gain, against series summed bounce by bounce.

check-values-2.md, section 4: derived there as a 2 x 2 series, with a random test.
"""

import math

import pytest

from photonsim import ReflectivePolariser
from photonsim.optics.polarisers import between_deg, recycler_of, recycling_gain

IDEAL = {"pass": (1.0, 0.0), "block": (0.0, 1.0)}
FOIL = {"pass": (0.88, 0.10), "block": (0.02, 0.96)}
WIRES = {"pass": (0.85, 0.05), "block": (0.005, 0.80)}


def sheet(figures):
    keys = {}
    for state, shares in figures.items():
        for what, share in zip(("transmittance", "reflectance"), shares, strict=True):
            keys[f"{state}_{what}"] = share
    return ReflectivePolariser(z_mm=1.0, pass_deg=0.0, **keys)


# Figures of the sheet, turn, reflectance of the base, its mirror share, gain to five digits.
ROWS = [
    (IDEAL, 0.0, 0.5, 0.0, 1.33333),
    (IDEAL, 0.0, 0.9, 0.0, 1.81818),
    (IDEAL, 0.0, 0.98, 0.0, 1.96078),
    (IDEAL, 0.0, 0.8, 0.5, 1.50000),
    (IDEAL, 0.0, 0.9, 0.5, 1.69231),
    (IDEAL, 0.0, 0.9, 1.0, 1.0),
    (IDEAL, 90.0, 0.9, 0.0, 0.0),
    (FOIL, 0.0, 0.8, 0.0, 1.52778),
    (FOIL, 90.0, 0.8, 0.0, 0.03472),
    (FOIL, 0.0, 0.8, 0.5, 1.37333),
    (FOIL, 30.0, 0.8, 0.0, 1.15451),
    (FOIL, 0.0, 0.9, 0.5, 1.54567),
    (FOIL, 30.0, 0.9, 0.0, 1.27151),
    (WIRES, 0.0, 0.9, 0.0, 1.37652),
    (WIRES, 90.0, 0.9, 0.0, 0.00810),
    (WIRES, 0.0, 0.9, 0.5, 1.22952),
    (WIRES, 30.0, 0.9, 0.0, 1.03441),
]


@pytest.mark.parametrize(("figures", "turn", "reflectance", "mirror", "gain"), ROWS)
def test_gain_over_a_base(figures, turn, reflectance, mirror, gain):
    found = recycling_gain(sheet(figures), turn, reflectance, mirror)
    assert found == pytest.approx(gain, abs=6e-6)


def test_a_thousand_bounces_by_hand():
    (t1, r1), (t2, r2) = FOIL.values()
    along = across = 0.5
    passed = 0.0
    for _ in range(1000):
        passed += t1 * along * math.cos(0.4) ** 2 + t2 * across * math.sin(0.4) ** 2
        along, across = r1 * along, r2 * across
        mean = 0.5 * (along + across)
        along, across = (0.7 * (0.3 * one + 0.7 * mean) for one in (along, across))
    found = recycling_gain(sheet(FOIL), math.degrees(0.4), 0.7, 0.3)
    assert found == pytest.approx(2.0 * passed, rel=1e-12)


def below_a_sheet(lamp, **parts):
    parts["foil"] = {"kind": "reflective_polariser", "z_mm": 30.0, "pass_deg": 0.0}
    names = sorted(parts, key=lambda name: parts[name]["z_mm"])
    base = {"housing.base.reflectance": 0.8, "housing.base.specular_share": 0.25}
    scene = lamp({"train.film": None, **{f"train.{n}<panel": parts[n] for n in names}, **base})
    return recycler_of(scene, scene.train["foil"])


def test_the_base_alone_keeps_its_mirror(lamp):
    assert below_a_sheet(lamp) == ((), 0.8, 0.25)
    assert "80 %, 25 % of it like a mirror" in below_a_sheet(lamp).words


def test_diffusers_add_to_the_base_bounce_by_bounce(lamp):
    mist = {"kind": "diffuser", "z_mm": 20.0, "transmittance": 0.6, "reflectance": 0.3, "haze": 0.9}
    back, down = 0.3, 0.6
    for _ in range(200):
        up = 0.8 * down
        back, down = back + 0.6 * up, 0.3 * up
    found = below_a_sheet(lamp, mist=mist)
    assert found.parts == ("mist", "the base")
    assert found.reflectance == pytest.approx(back, rel=1e-12)
    assert found.mirror_share == 0.0
    # What stands above the sheet sends nothing back to it from below.
    above = below_a_sheet(lamp, mist={**mist, "z_mm": 40.0})
    assert above == ((), 0.8, 0.0)


def test_axes_have_no_ends():
    assert between_deg(-90.0, 90.0) == 0.0
    assert between_deg(10.0, 350.0) == 20.0
    assert between_deg(-300.0, 0.0) == 60.0
