"""What is told of a supply: the plan in words, cautions, and the risk to eyes."""

import math

import pytest

from photonsim.supply.eye_safety import glare_of
from photonsim.supply.plan import supply_plan
from photonsim.supply.plan_text import plan_text
from photonsim.words.cautions import FOR_SUPPLY
from tests.shipped import scene as shipped


def test_shipped_plan_is_good_enough_and_says_so():
    scene = shipped("d")
    plan = supply_plan(scene)
    text = plan_text(plan)
    assert plan.is_good_enough
    assert "The dropper is good enough" in text
    assert "Limits: none exceeded" in text
    assert f"{plan.dropper_ohm:g} ohm" in text
    assert max(map(len, text.splitlines())) <= 100
    text.encode("cp1252")  # Windows writes a pipe so
    assert plan.point.led_lm == pytest.approx(20.0, abs=1.0)
    for caution in FOR_SUPPLY:
        assert caution.split()[0] in text


def test_cautions_cover_what_can_hurt():
    """Eyes by IEC 62471, heat, fire, overdriven LEDs, approved supplies, licensed mains work."""
    told = " ".join(FOR_SUPPLY)
    for word in ("IEC 62471", "heat sink", "Overdriven", "certified", "licensed", "Local codes"):
        assert word in told


def test_brightness_of_a_lambertian_face():
    """L = F/(pi A) for a Lambertian face (identity); its blue light lies in risk group 1."""
    scene = shipped("d")
    glare = glare_of(scene, scene.supply.led, 20.0)
    assert glare.luminance == pytest.approx(20.0 / (math.pi * 2.8e-3 * 3.5e-3))
    assert glare.group == "risk group 1"
    assert glare_of(scene, scene.supply.led, 400.0).group == "risk group 2"
