"""Supply plans against Ohm, data sheets, the E24 series, common practice and a second solution."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from photonsim.scene import Led, SceneError
from photonsim.supply.load_line import load_lines
from photonsim.supply.plan import greediest_a, supply_plan
from photonsim.supply.plan_text import plan_text
from photonsim.supply.preferred_values import nearest_preferred
from photonsim.supply.working_point import Conditions, dropper_for, work
from tests.shipped import scene as shipped

# A white LED of 0.2 W whose data have no feedback of heat, so that a circuit stays linear.
LED = {"current_ma": 60.0, "voltage_v": 2.9, "slope_ohm": 3.5, "flux_lm": 24.0, "k_per_w": 15.0}
COLD = {"voltage_per_k": 0.0, "flux_per_k": 0.0}
SUPPLY = {
    "feed": "dropper",
    "voltage_v": 12.0,
    "droop_ohm": 0.3,
    "series": 3,
    "strings": 15,
    "dropper_ohm": 68.0,
    "led": LED,
    "heat_sink": {"k_per_w": 2.0},
}


@pytest.fixture
def fed(lamp):
    """Make the split-film lamp, whose bars have 45 LEDs, with a supply, changed."""

    def make(led=None, heat_sink=None, emitters=None, **changes):
        supply = SUPPLY | changes
        supply["led"] = LED | (led or {})
        supply["heat_sink"] = heat_sink or SUPPLY["heat_sink"]
        supply = {key: value for key, value in supply.items() if value is not None}
        supply["led"] = {k: v for k, v in supply["led"].items() if v is not None}
        return lamp({"supply": supply} | (emitters or {}))

    return make


def bars(count, width=80.0):
    """The changes that make the lamp's emitters so many bars."""
    return {
        "emitters.bars": {
            "width_mm": width,
            "height_mm": 3.5,
            "rows": count,
            "pitch_y_mm": 6.0,
            "z_mm": 1.6,
            "flux_lm": 100.0,
        }
    }


# --- The circuit ----------------------------------------------------------------------------------


@settings(max_examples=40, deadline=None, derandomize=True)
@given(
    volts=st.floats(9.0, 60.0),
    ohm=st.floats(0.1, 500.0),
    droop=st.floats(0.01, 5.0),
    series=st.sampled_from([1, 3, 5]),
)
def test_current_by_nodal_analysis(volts, ohm, droop, series):
    """Kirchhoff's laws as linear equations in the node voltages, solved as a matrix.

    Each LED is its knee voltage and slope in series; the nodes are the supply's terminal and, for
    every string, that between dropper and LEDs.
    """
    strings = 45 // series
    scene = shipped("d")
    supply = scene.supply.model_copy(
        update={
            "voltage_v": volts,
            "droop_ohm": droop,
            "series": series,
            "strings": strings,
            "dropper_ohm": ohm,
            "led": Led(**LED, **COLD),
        }
    )
    knee, slope = series * (2.9 - 0.06 * 3.5), series * 3.5
    conductance, source = np.zeros((strings + 1, strings + 1)), np.zeros(strings + 1)
    conductance[0, 0], source[0] = 1.0 / droop, volts / droop
    for node in range(1, strings + 1):
        conductance[0, 0] += 1.0 / ohm
        conductance[0, node] = conductance[node, 0] = -1.0 / ohm
        conductance[node, node] = 1.0 / ohm + 1.0 / slope
        source[node] = knee / slope
    nodes = np.linalg.solve(conductance, source)
    expected = max(0.0, (nodes[1] - knee) / slope)
    point = work(supply, scene.housing, ohm, Conditions(25.0))
    assert point.string_a == pytest.approx(expected, abs=1e-9)
    if expected > 0.0:
        assert point.supply_v == pytest.approx(nodes[0], abs=1e-6)
        assert point.dropper_v == pytest.approx(nodes[0] - nodes[1], abs=1e-6)


def test_warm_working_point_by_repeated_substitution(fed):
    """Current by Ohm's law, heat from the current, temperature from the heat, and again."""
    supply = fed(led={"voltage_per_k": -3e-3, "flux_per_k": -3e-3}).supply
    point = supply_plan(fed(led={"voltage_per_k": -3e-3, "flux_per_k": -3e-3})).point
    junction = 25.0
    for _ in range(100):
        knee = 2.9 - 0.06 * 3.5 - 3e-3 * (junction - 25.0)
        current = (12.0 - 3 * knee) / (68.0 + 15 * 0.3 + 3 * 3.5)
        lumens = 24.0 * (current / 0.06) ** 0.9 * (1.0 - 3e-3 * (junction - 25.0))
        heat = current * (knee + 3.5 * current) - lumens / 300.0
        junction = supply.room_c + 45 * heat * 2.0 + heat * 15.0
    assert point.string_a == pytest.approx(current, rel=1e-6)
    assert point.junction_c == pytest.approx(junction, abs=1e-4)
    assert point.led_lm == pytest.approx(lumens, rel=1e-6)


@pytest.mark.parametrize("feed", ["dropper", "driver"])
def test_watts_lumens_and_heat_agree(fed, feed):
    """All power is dropper, LED or driver; all LED power is light or heat."""
    how = {} if feed == "dropper" else {"dropper_ohm": None, "current_ma": 50.0}
    plan = supply_plan(fed(feed=feed, **how))
    point, supply = plan.point, plan.supply
    leds = 45 * point.led_w
    if feed == "dropper":
        assert point.total_w == pytest.approx(leds + 15 * point.dropper_w)
        assert point.total_w == pytest.approx(point.supply_v * point.supply_a)
    else:
        assert point.total_w == pytest.approx(leds / supply.driver_efficiency)
    assert point.total_lm == pytest.approx(45 * point.light_w * 300.0)
    heat = leds - 45 * point.light_w
    assert point.sink_c - 25.0 == pytest.approx(2.0 * heat)
    assert point.junction_c - point.sink_c == pytest.approx(15.0 * heat / 45)


def test_efficacy_from_a_spectrum(fed):
    """A single line at 555 nm: 683 lm/W, so 24 lm are 35 mW of light."""
    line = {"spectrum_nm": [554.0, 555.0, 556.0], "spectrum": [0.0, 1.0, 0.0]}
    point = supply_plan(fed(led=line)).point
    assert point.led_lm / point.light_w == pytest.approx(683.0, rel=2e-3)


def test_dropper_for_a_wanted_current(fed):
    plan = supply_plan(fed(dropper_ohm=None, current_ma=50.0))
    exact = work(plan.supply, shipped("d").housing, plan.exact_ohm, Conditions(25.0))
    assert 1e3 * exact.string_a == pytest.approx(50.0, abs=1e-6)
    assert plan.dropper_ohm == nearest_preferred(plan.exact_ohm)
    assert plan.rating_w >= 2.0 * plan.worst.hottest.dropper_w


def test_droppers_of_many_strings_share_the_droop(fed):
    """15 strings through 0.3 ohm sag as one string through 4.5 ohm."""
    many = supply_plan(fed(led=COLD)).point
    one = fed(led=COLD, strings=1, series=3, droop_ohm=4.5, emitters=bars(3)).supply
    assert work(one, shipped("d").housing, 68.0, Conditions(25.0)).string_a == pytest.approx(
        many.string_a
    )


def test_led_side_by_side_share_by_their_curves(fed):
    """Two bins 0.2 V apart on 3.5 ohm: of three abreast, one takes 2/3 of 0.2/3.5 A more."""
    plan = supply_plan(fed(abreast=3, strings=5, led=COLD, dropper_ohm=22.0))
    assert plan.point.led_a == pytest.approx(plan.point.string_a / 3)
    assert greediest_a(plan) == pytest.approx(
        plan.point.led_a + (2 / 3) * 0.2 / 3.5, abs=plan.point.string_a / 1000
    )


def test_dropper_for_is_negative_without_volts(fed):
    scene = fed(voltage_v=8.0)
    assert dropper_for(scene.supply, scene.housing, 0.06) < 0.0


# --- Drivers and limits ---------------------------------------------------------------------------


def test_driver_holds_its_current(fed):
    plan = supply_plan(fed(feed="driver", dropper_ohm=None, current_ma=50.0))
    currents = {
        round(1e3 * point.string_a, 6) for found in plan.deviations[:2] for point in found.points
    }
    assert currents == {50.0}
    assert plan.worst.current_from(plan.point) == pytest.approx((-0.05, 0.05))
    assert "driver for each string holds 50 mA" in plan_text(plan)


def test_the_worst_lamp_of_a_driver_has_leds_of_high_voltage_and_a_low_supply(fed):
    """I U + W at held current: the hottest has +0.1 V, the most amperes are those at 0.95 U."""
    cold = {**COLD, "voltage_spread_v": 0.1, "limit_c": 200.0}
    scene = fed(led=cold, feed="driver", dropper_ohm=None, current_ma=60.0, limit_ma=600.0)
    plan = supply_plan(scene)
    led_v = 2.9 + 3.5 * 0.003 + 0.1
    watts = 45 * 0.063 * led_v
    supply = plan.supply
    most_a = watts / supply.driver_efficiency / (12.0 * (1.0 - supply.voltage_tolerance))
    assert plan.worst.supply_a == pytest.approx(most_a, rel=1e-9)
    assert plan.worst.hottest.led_v == pytest.approx(led_v, rel=1e-9)
    assert f"at worst {1e3 * most_a:.0f} mA" in plan_text(plan)
    assert most_a > plan.point.supply_a
    assert any(f"gives {1e3 * most_a:.0f} mA" in sentence for sentence in plan.exceeded)


def test_driver_without_volts_enough_is_told(fed):
    plan = supply_plan(fed(feed="driver", dropper_ohm=None, current_ma=50.0, voltage_v=9.7))
    assert not plan.point.held
    assert any("too low for the driver" in sentence for sentence in plan.exceeded)


def test_limits_are_told(fed):
    plan = supply_plan(
        fed(
            dropper_ohm=20.0,
            limit_ma=1000.0,
            led={"limit_ma": 60.0, "limit_c": 60.0},
            heat_sink={"k_per_w": 8.0},
        )
    )
    told = "\n".join(plan.exceeded)
    assert "its limit is 60 mA" in told
    assert "their limit is 60 °C" in told
    assert "its limit is 1000 mA" in told
    assert not plan.is_good_enough
    assert "is not good enough" in plan_text(plan)


def test_runaway_is_told(fed):
    """Without a heat sink to speak of, warmer LEDs draw more, which warms them more."""
    plan = supply_plan(
        fed(
            dropper_ohm=1.0,
            voltage_v=9.0,
            led={"voltage_per_k": -0.005, "slope_ohm": 0.5},
            heat_sink={"k_per_w": 40.0},
        )
    )
    assert plan.point.runaway
    assert any("no balance" in sentence for sentence in plan.exceeded)


def test_an_led_of_more_light_than_power_is_refused(fed):
    with pytest.raises(SceneError, match=r"supply\.led: gives 72\.7 lm at 0\.135 W, in which"):
        supply_plan(fed(led={"flux_lm": 90.0}))


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        (
            {"strings": 14},
            "supply.strings = 14: with series = 3 and abreast = 1 this feeds 42 LEDs",
        ),
        ({"voltage_v": 7.0}, "supply.voltage_v = 7.0: does not light the string"),
        (
            {"voltage_v": 8.5, "dropper_ohm": None, "current_ma": 60.0},
            "supply.voltage_v = 8.5: leaves nothing for a dropper",
        ),
    ],
)
def test_supply_that_can_not_work_is_refused(fed, changes, sentence):
    with pytest.raises(SceneError) as caught:
        supply_plan(fed(**changes))
    assert sentence in str(caught.value)


def test_scene_without_a_supply_is_told(lamp):
    with pytest.raises(SceneError, match="describe how the emitters are fed"):
        supply_plan(lamp())


# --- Lamp to lamp ---------------------------------------------------------------------------------


def test_spread_of_a_linear_circuit(fed):
    """dI = dV/(R + n r + droop): by hand for bins, supply; dI/I = -dR/(R + ...) for the dropper."""
    plan = supply_plan(fed(led=COLD))
    ohm = 68.0 + 3 * 3.5 + 15 * 0.3
    usual = (12.0 - 3 * (2.9 - 0.06 * 3.5)) / ohm
    assert plan.point.string_a == pytest.approx(usual)
    bins, supply, dropper, room, whole = plan.deviations
    assert bins.current_from(plan.point)[1] == pytest.approx(0.3 / ohm / usual)
    assert supply.current_from(plan.point)[1] == pytest.approx(0.6 / ohm / usual)
    assert dropper.current_from(plan.point)[0] == pytest.approx(ohm / (ohm + 3.4) - 1.0)
    assert room.current_from(plan.point) == pytest.approx((0.0, 0.0), abs=1e-6)
    alone = [s.current_from(plan.point)[1] for s in (bins, supply, dropper)]
    assert whole.current_from(plan.point)[1] > max(alone)


def test_resistor_is_poor_control_until_it_takes_volts(fed):
    """The more of the voltage a dropper takes, the less the light strays; a driver beats it."""
    lines = load_lines(supply_plan(fed()))
    low, high = lines.light_ratio
    assert (np.diff(high) < 0.0).all()
    assert (np.diff(low) >= 0.0).all()
    assert high[0] > 1.5
    assert high[-1] < 1.2
    assert lines.driver_light[1] < high[-1]


def test_usual_lamp_lies_on_both_lines(fed):
    scene = fed()
    plan = supply_plan(scene)
    lines = load_lines(plan)
    starved, usual, overfed = lines.crossings
    assert usual.current_ma == pytest.approx(1e3 * plan.point.string_a)
    on_load_line = lines.open_v[1] - 1e-3 * usual.current_ma * lines.source_ohm
    assert usual.string_v == pytest.approx(on_load_line)
    assert np.interp(usual.current_ma, lines.string_ma, lines.string_v[1]) == pytest.approx(
        usual.string_v
    )
    assert starved.current_ma < usual.current_ma < overfed.current_ma
    assert lines.plan_share == pytest.approx(plan.dropper_share)


def test_driver_has_load_lines_of_a_dropper_in_its_place(fed):
    scene = fed(feed="driver", dropper_ohm=None, current_ma=50.0)
    lines = load_lines(supply_plan(scene))
    assert lines.plan_share is None
    assert lines.crossings[1].current_ma == pytest.approx(50.0, abs=1e-3)
    starved = {"voltage_v": 8.4, "driver_headroom_v": 0.0, "droop_ohm": 0.0}
    tight = fed(feed="driver", dropper_ohm=None, current_ma=50.0, **starved)
    assert load_lines(supply_plan(tight)).source_ohm == pytest.approx(0.0, abs=1e-3)


# --- Common practice ------------------------------------------------------------------------------


def test_eight_strips_in_series_from_24_volts(fed):
    """Common practice: eight white strips of about 3 V run so, with a small dropper, at 450 mA.

    A strip sold as 3 V has 2.8 to 2.9 V when warm, which leaves a volt or two.
    """
    strip = {
        "current_ma": 450.0,
        "voltage_v": 2.9,
        "slope_ohm": 0.3,
        "flux_lm": 130.0,
        "k_per_w": 4,
    }
    scene = fed(
        led=strip,
        voltage_v=24.0,
        droop_ohm=0.1,
        series=8,
        strings=1,
        dropper_ohm=None,
        current_ma=450.0,
        heat_sink={"k_per_w": 2.5},
        emitters=bars(8),
    )
    plan = supply_plan(scene)
    assert 1.0 < plan.exact_ohm < 5.0
    assert 1e3 * plan.point.string_a == pytest.approx(450.0, rel=0.05)
    assert plan.point.total_w == pytest.approx(24.0 * 0.45, rel=0.05)
    assert plan.rating_w <= 5.0
    # So small a dropper leaves the current to the bins: it strays by far more than 20 %.
    assert plan.worst.current_from(plan.point)[1] > 0.3
    assert not plan.is_good_enough


def test_small_bar_gets_hot_without_a_heat_sink(fed):
    """Common practice: a small LED bar sold as one watt gets hot at 1.5 W without a heat sink."""
    bar = {"current_ma": 300.0, "voltage_v": 3.0, "slope_ohm": 0.5, "flux_lm": 100.0, "k_per_w": 8}

    def at_1_5_watts(heat_sink):
        scene = fed(
            led=bar,
            voltage_v=5.0,
            droop_ohm=0.0,
            series=1,
            strings=1,
            dropper_ohm=None,
            current_ma=505.0,
            feed="driver",
            heat_sink=heat_sink,
            emitters=bars(1),
        )
        return supply_plan(scene).point

    bare = at_1_5_watts({"width_mm": 80.0, "height_mm": 8.0, "faces": 2, "emissivity": 0.9})
    assert bare.led_w == pytest.approx(1.5, abs=0.05)
    assert bare.sink_c > 60.0
    cooled = at_1_5_watts({"width_mm": 100.0, "height_mm": 70.0, "faces": 2, "emissivity": 0.9})
    assert cooled.sink_c < 40.0
    assert cooled.total_lm > 1.04 * bare.total_lm


def test_closed_box_warms_all(fed):
    open_air, boxed = supply_plan(fed()).point, supply_plan(fed(box={"k_per_w": 4.0})).point
    assert boxed.air_c == pytest.approx(25.0 + 4.0 * boxed.total_w)
    assert boxed.junction_c > open_air.junction_c + 25.0
    assert boxed.total_lm < open_air.total_lm
    let_out = supply_plan(fed(box={"k_per_w": 4.0, "light_kept": 0.5})).point
    assert let_out.air_c < boxed.air_c
