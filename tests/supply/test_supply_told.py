"""What is told of a supply: the plan in words, cautions, and the risk to eyes."""

import math

import pytest

from photonsim.scene import load_scene
from photonsim.supply.eye_safety import glare_of
from photonsim.supply.plan import supply_plan
from photonsim.supply.plan_text import plan_text
from photonsim.words.cautions import EDGES, FOR_OPTICS, FOR_SUPPLY, for_lamp
from tests.shipped import APART
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


def edge_lit(**changes):
    """The plate's lamp with its 15 LEDs of 60 lm each fed with 150 mA, on a bar of metal."""
    led = {"current_ma": 150.0, "voltage_v": 3.1, "slope_ohm": 1.0, "flux_lm": 60.0, "k_per_w": 15}
    supply = {"feed": "driver", "voltage_v": 24.0, "current_ma": 150.0, "series": 5, "strings": 3}
    led["voltage_per_k"] = 0.0
    supply |= {"driver_headroom_v": 2.0, "led": led, "heat_sink": {"k_per_w": 12.0}}
    plate = load_scene(next(path for path in APART if path.stem == "plate"))
    return plate.with_numbers({"supply": supply, **changes})


def test_leds_at_a_plates_edge_are_told_of_metal_and_soft_plastic():
    """0.465 W every 6.4 mm are 73 W a metre; 4 W of heat through 12 K/W are 48 K."""
    plan = supply_plan(edge_lit())
    text = " ".join(plan_text(plan).split())
    w_per_m = 1000.0 * 0.150 * 3.1 / 6.4
    assert f"row: {w_per_m:.2g} W to a metre of edge" in text
    assert "this row needs metal behind it" in text
    assert plan.worst.hottest.junction_c > 80.0
    assert "acrylic softens from about 80 °C on" in text
    assert EDGES[:40] in text
    # Cooler than 80 °C, or glass: nothing to fear. On a board: no word of it.
    cool = supply_plan(edge_lit(**{"supply.heat_sink.k_per_w": 0.5, "supply.led.k_per_w": 5.0}))
    assert cool.worst.hottest.junction_c < 80.0
    assert "plate's lit edge" not in plan_text(cool)
    glass = {"train.plate.material": "borosilicate_crown"}
    assert "plate's lit edge" not in plan_text(supply_plan(edge_lit(**glass)))
    assert "edge" not in plan_text(supply_plan(shipped("d")))


def test_the_caution_for_a_plate_stands_beside_that_for_heat():
    assert for_lamp(FOR_OPTICS, shipped("d")) == FOR_OPTICS
    found = for_lamp(FOR_OPTICS, edge_lit())
    assert found[2] == EDGES
    assert (*found[:2], *found[3:]) == FOR_OPTICS
    # 70 millionths a kelvin: ISO 11359-2 values of cast acrylic (from memory).
    assert pytest.approx(0.35) == 70e-6 * 100.0 * 50.0


def test_brightness_of_a_lambertian_face():
    """L = F/(pi A) for a Lambertian face (identity); its blue light lies in risk group 1."""
    scene = shipped("d")
    glare = glare_of(scene, scene.supply.led, 20.0)
    assert glare.luminance == pytest.approx(20.0 / (math.pi * 2.8e-3 * 3.5e-3))
    assert glare.group == "risk group 1"
    assert glare_of(scene, scene.supply.led, 400.0).group == "risk group 2"
