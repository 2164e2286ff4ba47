"""What a supply is made of: the E24 series, ratings of resistors, and LEDs by their data sheets."""

import pytest

from photonsim.scene import Led
from photonsim.supply import led_curve
from photonsim.supply.preferred_values import E24, nearest_preferred, power_rating


def test_e24():
    """IEC 60063: the powers of 10^(1/24), rounded, but for eight values older than the rule.

    A copy of the series that goes round prints 4.2 where it has 4.3.
    """
    older = {10: 2.7, 11: 3.0, 12: 3.3, 13: 3.6, 14: 3.9, 15: 4.3, 16: 4.7, 22: 8.2}
    assert tuple(older.get(k, round(10.0 ** (k / 24), 1)) for k in range(24)) == E24


@pytest.mark.parametrize(
    ("ohm", "nearest"),
    [
        (67.9, 68.0),
        (70.0, 68.0),
        (4.2, 4.3),
        (0.234, 0.24),
        (9.7, 10.0),
        (1000.0, 1000.0),
        (98_000.0, 100_000.0),
        (0.0999, 0.1),
    ],
)
def test_nearest_preferred_value_by_ratio(ohm, nearest):
    assert nearest_preferred(ohm) == nearest


@pytest.mark.parametrize(
    ("watts", "rating"), [(0.1, 0.25), (0.13, 0.5), (0.5, 1.0), (0.51, 2.0), (60.0, None)]
)
def test_power_rating_is_used_by_half(watts, rating):
    assert power_rating(watts) == rating


def test_forward_voltage_of_a_hot_led():
    """3.0 V at 25 °C and -3 mV/K give 2.7 V at 125 °C, and at 300 mA 0.81 W instead of 0.90 W.

    V. K. Khanna, Fundamentals of Solid-State Lighting, ch. 14, equations 14.1 to 14.3.
    """
    led = Led(
        current_ma=300.0, voltage_v=3.0, slope_ohm=0.5, voltage_per_k=-3e-3, flux_lm=90.0, k_per_w=8
    )
    assert led_curve.forward_voltage(led, 0.3, 25.0) * 0.3 == pytest.approx(0.90)
    assert led_curve.forward_voltage(led, 0.3, 125.0) == pytest.approx(2.7)
    assert led_curve.forward_voltage(led, 0.3, 125.0) * 0.3 == pytest.approx(0.81)


def test_mid_power_led_of_a_data_sheet():
    """28 lm at 60 mA and 2.8 V are 166.7 lm/W (a 2835 data sheet, smdled.org)."""
    led = Led(current_ma=60.0, voltage_v=2.8, slope_ohm=4.0, flux_lm=28.0, k_per_w=20.0)
    power = 0.06 * led_curve.forward_voltage(led, 0.06, 25.0)
    assert led_curve.flux(led, 0.06, 25.0) / power == pytest.approx(166.7, abs=0.05)
    # 0.88 to 0.92 of the flux is left at 85 °C: data-sheet curves, from memory.
    assert 0.87 < led_curve.flux(led, 0.06, 85.0) / 28.0 < 0.93
    assert led_curve.flux(led, 0.12, 25.0) / 28.0 == pytest.approx(1.87, abs=0.01)
    assert led_curve.flux(led, 0.0, 25.0) == 0.0


def test_table_of_a_data_sheet():
    led = Led(
        current_ma=60.0,
        table_ma=(0.0, 20.0, 60.0, 120.0),
        table_v=(2.5, 2.7, 2.9, 3.1),
        table_lm=(0.0, 9.0, 24.0, 44.0),
        k_per_w=15.0,
    )
    assert led_curve.forward_voltage(led, 0.04, 25.0) == pytest.approx(2.8)
    assert led_curve.forward_voltage(led, 0.18, 25.0) == pytest.approx(3.3)
    assert led_curve.flux(led, 0.09, 25.0) == pytest.approx(34.0)
