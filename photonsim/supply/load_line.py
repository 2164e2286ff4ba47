"""Load lines and spread: why a resistor is poor control, and when it is good enough."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from photonsim.arrays import Reals
from photonsim.scene import Scene, Supply
from photonsim.supply import led_curve
from photonsim.supply.lamp_to_lamp import whole_deviation
from photonsim.supply.plan import SupplyPlan
from photonsim.supply.working_point import Conditions, WorkingPoint, dropper_for, work

# Shares of the voltage in the dropper that are looked at: from almost none to most of it.
SHARES = np.array([0.03, 0.05, 0.075, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.6])
CURVE_POINTS = 60


@dataclass(frozen=True)
class Crossing:
    """Where a load line meets a string's curve: V across the string and mA through it."""

    string_v: float
    current_ma: float


@dataclass(frozen=True)
class LoadLines:
    """Why a resistor is poor control, and when it is good enough.

    `string_ma` [n] against `string_v`, the voltage of strings of LEDs of the lowest, usual and
    highest bin. A load line falls from `open_v` (lowest, usual, highest supply) by `source_ohm`;
    `crossings` are the starved, the usual and the overfed lamp. Then, for the same string at the
    same usual current from other voltages, against `dropper_share` [m], the share of the voltage
    that the dropper takes: the least and most light relative to the usual, [2, m]. A
    driver in its place leaves `driver_light` [2]. `plan_share` is None where there is no dropper.
    """

    string_ma: Reals
    string_v: tuple[Reals, ...]
    open_v: tuple[float, ...]
    source_ohm: float
    crossings: tuple[Crossing, ...]
    dropper_share: Reals
    light_ratio: Reals
    driver_light: tuple[float, float]
    plan_share: float | None


def load_lines(plan: SupplyPlan) -> LoadLines:
    """Return the load lines of a plan; with a driver, those of a dropper in its place."""
    scene, supply, point = plan.scene, plan.supply, plan.point
    dropped = supply.model_copy(update={"feed": "dropper", "current_ma": 1e3 * point.string_a})
    # A driver that is short of volts may leave none at all for a dropper.
    ohm = plan.dropper_ohm or max(0.0, dropper_for(dropped, scene.housing, point.string_a))
    usual = work(dropped, scene.housing, ohm, Conditions(supply.room_c))
    worst = whole_deviation(dropped, scene.housing, ohm)
    by_current = sorted([*worst.points, usual], key=lambda each: each.string_a)
    crossings = tuple(
        Crossing(supply.series * each.led_v, 1e3 * each.string_a)
        for each in (by_current[0], usual, by_current[-1])
    )
    currents = np.linspace(0.0, 1.25 * by_current[-1].string_a, CURVE_POINTS)
    off, shift = supply.voltage_tolerance, supply.led.voltage_spread_v
    ratios = [_ratios(dropped, scene, usual, share) for share in SHARES]
    return LoadLines(
        string_ma=1e3 * currents,
        string_v=tuple(
            _string_voltage(supply, currents, usual.junction_c, each)
            for each in (-shift, 0.0, shift)
        ),
        open_v=tuple(supply.voltage_v * factor for factor in (1.0 - off, 1.0, 1.0 + off)),
        source_ohm=ohm + supply.droop_ohm * supply.strings,
        crossings=crossings,
        dropper_share=SHARES,
        light_ratio=1.0 + np.array(ratios).T,
        driver_light=_driven(supply, scene, point),
        plan_share=plan.dropper_share if supply.feed == "dropper" else None,
    )


def _string_voltage(supply: Supply, currents: Reals, junction_c: float, shift_v: float) -> Reals:
    per_led = [
        led_curve.forward_voltage(supply.led, current / supply.abreast, junction_c, shift_v)
        for current in currents
    ]
    return supply.series * np.array(per_led)


def _ratios(supply: Supply, scene: Scene, point: WorkingPoint, share: float) -> tuple[float, float]:
    """Return the ends of the light, relative to the usual less 1, with a share in the dropper."""
    string_v = supply.series * point.led_v
    loaded_v = string_v / (1.0 - share)
    droop_v = supply.droop_ohm * supply.strings * point.string_a
    other = supply.model_copy(update={"voltage_v": loaded_v + droop_v})
    ohm = (loaded_v - string_v) / point.string_a
    return whole_deviation(other, scene.housing, ohm).light_from(point)


def _driven(supply: Supply, scene: Scene, point: WorkingPoint) -> tuple[float, float]:
    """Return the ends of the light, relative to the usual, with a driver that has volts enough."""
    driver = supply.model_copy(
        update={
            "feed": "driver",
            "current_ma": 1e3 * point.string_a,
            "voltage_v": 2.0 * supply.series * point.led_v + supply.driver_headroom_v,
        }
    )
    low, high = whole_deviation(driver, scene.housing, 0.0).light_from(point)
    return 1.0 + low, 1.0 + high
