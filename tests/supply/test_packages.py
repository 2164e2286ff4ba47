"""Typical values of common LED packages: marked as such, and as plausible as trade rules ask."""

from typing import get_args

import pytest

from photonsim.scene import Led, load_scene, parse_scene
from photonsim.scene.packages import DESCRIBED, Package
from photonsim.scene.writing import to_toml
from photonsim.supply.plan import supply_plan
from photonsim.supply.plan_text import plan_text
from tests.shipped import scene

PACKAGES = get_args(Package)
# What the packages are sold as, in watts: common practice, by their names.
SOLD_AS_W = {
    "3528": 0.06, "2835": 0.2, "5050": 0.2, "5730": 0.5, "star_1w": 1.0, "star_3w": 3.0,
    "cob_10w": 10.0,
}  # fmt: skip


@pytest.mark.parametrize("package", PACKAGES)
def test_typical_values_are_those_of_a_white_led_of_that_size(package):
    led = Led(package=package)
    watts = 1e-3 * led.current_ma * led.voltage_v
    assert watts == pytest.approx(SOLD_AS_W[package], rel=0.25)
    # Common practice: white LEDs for lighting give 80 to 140 lm for each watt that they take.
    assert 80.0 <= led.flux_lm / watts <= 140.0
    # A blue chip under phosphor takes 2.8 to 3.5 V; a COB has three in a row.
    assert 2.8 <= led.voltage_v / (3 if package == "cob_10w" else 1) <= 3.5
    assert led.current_ma < led.limit_ma <= 2 * led.current_ma
    # At the usual current the junction is not more than 30 K above the solder point.
    assert led.k_per_w * watts * 0.7 <= 30.0
    assert DESCRIBED[package]


def test_what_is_written_goes_before_what_is_typical():
    led = Led(package="2835", flux_lm=30.0)
    assert led.flux_lm == 30.0
    assert "flux_lm" not in led.typical and led.typical["voltage_v"] == led.voltage_v
    assert (
        Led(current_ma=60.0, voltage_v=3.0, slope_ohm=3.5, flux_lm=24.0, k_per_w=20.0).typical == {}
    )


def test_at_another_current_voltage_and_flux_follow_the_curve():
    usual, half = Led(package="2835"), Led(package="2835", current_ma=30.0)
    assert half.voltage_v == pytest.approx(usual.voltage_v - 0.030 * usual.slope_ohm, abs=1e-3)
    assert half.flux_lm == pytest.approx(usual.flux_lm * 0.5**0.9, rel=1e-3)
    table = Led(package="2835", table_ma=(10.0, 60.0), table_v=(2.7, 3.0), table_lm=(4.0, 24.0))
    assert table.voltage_v is None and table.slope_ohm is None and table.flux_lm is None


def test_a_plan_without_a_data_sheet_says_so():
    text = scene("d").text
    led = text[text.index("[supply.led]") : text.index("[supply.heat_sink]")]
    lamp = parse_scene(text.replace(led, '[supply.led]\npackage = "2835"\n\n'))
    assert "Typical of a 2835, not read off a data sheet" in plan_text(supply_plan(lamp))
    own = scene("d")
    assert "Typical" not in plan_text(supply_plan(own))
    # Written by the program it keeps what was typical apart from what was said.
    written = to_toml(lamp)
    assert parse_scene(written) == lamp and parse_scene(written).supply.led.typical
    assert "k_per_w = 20" not in written


def test_a_half_filled_supply_is_told_by_check_and_supply_alone(tmp_path):
    from click.testing import CliRunner

    from photonsim.cli import main

    text = scene("d").text
    lamp = tmp_path / "lamp.toml"
    lamp.write_text(text.replace("voltage_v = 12.0\n", ""), "utf-8")
    assert load_scene(lamp).flux_lm == scene("d").flux_lm
    checked = CliRunner().invoke(main, ["check", "--no-trace", str(lamp)])
    assert checked.exit_code == 0
    assert "[supply] is not finished, which stops no tracing" in checked.output
    assert "supply.voltage_v: missing" in checked.output
    planned = CliRunner().invoke(main, ["supply", str(lamp)])
    assert planned.exit_code == 2 and "supply.voltage_v: missing" in planned.output
