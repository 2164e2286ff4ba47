"""The working point of a lamp: the current at which supply, strings and heat agree."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from photonsim.scene import Housing, Supply
from photonsim.supply import led_curve
from photonsim.supply.heat import box_rise, sink_rise

# Solder melts at about 220 °C: a balance of heat beyond this is no lamp any more.
HOTTEST_C = 250.0


@dataclass(frozen=True)
class Conditions:
    """What differs from lamp to lamp and day to day.

    Factors on the supply's voltage, on the dropper and on the driver's current; the volts by which
    every LED is off; the room in °C.
    """

    room_c: float
    voltage: float = 1.0
    dropper: float = 1.0
    driver: float = 1.0
    shift_v: float = 0.0


@dataclass(frozen=True)
class WorkingPoint:
    """What flows, drops, warms and shines. Amperes, volts, watts, °C, lumens.

    `held` tells whether a driver can hold its current; `runaway` that no balance of heat was found
    below 250 °C. Watts of LEDs are those of one LED, of droppers those of one string.
    """

    string_a: float
    led_a: float
    led_v: float
    supply_v: float
    dropper_v: float
    led_w: float
    led_lm: float
    light_w: float
    air_c: float
    sink_c: float
    junction_c: float
    total_w: float
    total_lm: float
    dropper_w: float
    supply_a: float
    held: bool
    runaway: bool


def work(
    supply: Supply, housing: Housing, dropper_ohm: float, conditions: Conditions
) -> WorkingPoint:
    """Return the working point, heat fed back. `dropper_ohm` is not used with a driver.

    A warm junction needs less voltage, so a dropper lets more current through, which heats it: the
    temperature is sought at which the heat of the current that flows there keeps it there.
    """
    lamp = _FedLamp(supply, housing, dropper_ohm, conditions)
    return _balanced(lamp.at, conditions.room_c)


def dropper_for(supply: Supply, housing: Housing, current_a: float) -> float:
    """Return the ohms with which the usual lamp, warmed up, draws a current in each string.

    Not positive where the supply's voltage is too low for it.
    """
    lamp = _FedLamp(supply, housing, 0.0, Conditions(supply.room_c))
    point = _balanced(lambda junction_c: lamp.carrying(current_a, junction_c), supply.room_c)
    return (point.supply_v - supply.series * point.led_v) / current_a


def _balanced(at: Callable[[float], WorkingPoint], room_c: float) -> WorkingPoint:
    """Return the point whose heat leads to the junction temperature that it was taken at."""

    from scipy.optimize import brentq  # 0.18 s, which `trace` would pay too

    def surplus(junction_c: float) -> float:
        return at(junction_c).junction_c - junction_c

    if surplus(HOTTEST_C) >= 0.0:
        return replace(at(HOTTEST_C), junction_c=HOTTEST_C, runaway=True)
    return at(float(brentq(surplus, room_c - 1.0, HOTTEST_C, xtol=1e-6)))


@dataclass(frozen=True)
class _FedLamp:
    """A lamp under conditions, at any junction temperature that may be tried on it."""

    supply: Supply
    housing: Housing
    dropper_ohm: float
    conditions: Conditions

    @property
    def open_v(self) -> float:
        return self.supply.voltage_v * self.conditions.voltage

    @property
    def ohm(self) -> float:
        driven = self.supply.feed == "driver"
        return 0.0 if driven else self.dropper_ohm * self.conditions.dropper

    def at(self, junction_c: float) -> WorkingPoint:
        """Return what flows at a junction temperature, with the one that this would lead to."""
        if self.supply.feed == "dropper":
            return self.carrying(self._most_a(junction_c, self.open_v), junction_c)
        wanted_a = 1e-3 * (self.supply.current_ma or 0.0) * self.conditions.driver
        most_a = self._most_a(junction_c, self.open_v - self.supply.driver_headroom_v)
        point = self.carrying(min(wanted_a, most_a), junction_c)
        return replace(point, held=most_a >= wanted_a)

    def carrying(self, string_a: float, junction_c: float) -> WorkingPoint:
        """Return what a current in each string does, the junctions at a temperature."""
        supply, led, conditions = self.supply, self.supply.led, self.conditions
        count, strings = supply.led_count, supply.strings
        led_a = string_a / supply.abreast
        led_v = led_curve.forward_voltage(led, led_a, junction_c, conditions.shift_v)
        led_w, led_lm = led_a * led_v, led_curve.flux(led, led_a, junction_c)
        light_w = led_lm / led_curve.efficacy(led)
        heat_w = max(0.0, led_w - light_w)
        dropper_w = self.ohm * string_a**2
        if supply.feed == "driver":
            total_w, box_w = count * led_w / supply.driver_efficiency, count * led_w
            supply_a = total_w / self.open_v
        else:
            total_w = box_w = count * led_w + strings * dropper_w
            supply_a = strings * string_a
        air_c = conditions.room_c
        if supply.box is not None:  # droppers sit on the LEDs' board, a driver outside
            box_w -= (1.0 - supply.box.light_kept) * count * light_w
            air_c += box_rise(supply.box, self.housing, box_w, air_c)
        sink_c = air_c + sink_rise(supply.heat_sink, count * heat_w, air_c)
        board_k = supply.heat_sink.board_k_per_w * count * heat_w
        return WorkingPoint(
            string_a=string_a,
            led_a=led_a,
            led_v=led_v,
            supply_v=self.open_v - supply.droop_ohm * supply_a,
            dropper_v=self.ohm * string_a,
            led_w=led_w,
            led_lm=led_lm,
            light_w=light_w,
            air_c=air_c,
            sink_c=sink_c,
            junction_c=sink_c + board_k + led.k_per_w * heat_w,
            total_w=total_w,
            total_lm=count * led_lm,
            dropper_w=dropper_w,
            supply_a=supply_a,
            held=True,
            runaway=False,
        )

    def _most_a(self, junction_c: float, open_v: float) -> float:
        """Return the amperes at which string, dropper and droop use up a voltage.

        0 where the voltage does not reach the string's own at no current.
        """
        from scipy.optimize import brentq

        supply = self.supply
        ohm = supply.droop_ohm * supply.strings + self.ohm

        def spare(string_a: float) -> float:
            led_v = led_curve.forward_voltage(
                supply.led, string_a / supply.abreast, junction_c, self.conditions.shift_v
            )
            return open_v - ohm * string_a - supply.series * led_v

        if spare(0.0) <= 0.0:
            return 0.0
        high = 1e-3 * supply.led.current_ma * supply.abreast
        while spare(high) > 0.0:  # ends: the forward voltage rises with the current
            high *= 2.0
        return float(brentq(spare, 0.0, high, xtol=1e-12))
