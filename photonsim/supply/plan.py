"""The supply plan of a scene: working point, dropper, spread over LEDs, parts and seasons."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from photonsim.scene import Mistake, Scene, SceneError, Supply, Unfinished
from photonsim.scene.mistakes import NO_VALUE
from photonsim.supply import led_curve
from photonsim.supply.lamp_to_lamp import Deviation, deviations_of
from photonsim.supply.preferred_values import nearest_preferred, power_rating
from photonsim.supply.working_point import Conditions, WorkingPoint, dropper_for, work

# The eye does not see a picture that is a fifth brighter or darker unless both stand side by side.
UNSEEN_SHARE = 0.20


@dataclass(frozen=True)
class SupplyPlan:
    """The plan of a scene's supply. Ohms and ratings are None with a driver.

    `exact_ohm` is the dropper for the wanted current, `dropper_ohm` the one that is fitted, and
    `rating_w` that of the part to buy; `deviations` ends with all causes together.
    """

    scene: Scene
    supply: Supply
    point: WorkingPoint
    exact_ohm: float | None
    dropper_ohm: float | None
    rating_w: float | None
    deviations: tuple[Deviation, ...]
    exceeded: tuple[str, ...]

    def __repr__(self) -> str:
        """Tell what flows and shines, what drops the rest, and whether a limit is exceeded."""
        point, limits = self.point, len(self.exceeded) or "none"
        ohm = "a driver" if self.dropper_ohm is None else f"{self.dropper_ohm:g} Ω"
        return (
            f"<supply of '{self.scene.title or 'untitled'}': {1e3 * point.led_a:.3g} mA, "
            f"{point.led_lm:.3g} lm and {point.junction_c:.3g} °C a LED, {point.total_w:.3g} W in "
            f"all, {ohm} a string, limits exceeded: {limits}>"
        )

    @property
    def worst(self) -> Deviation:
        """All causes together."""
        return self.deviations[-1]

    @property
    def dropper_share(self) -> float:
        """The share of the supply's voltage that is left for the dropper."""
        return self.point.dropper_v / self.point.supply_v

    @property
    def is_good_enough(self) -> bool:
        """Whether nothing is exceeded in any lamp and none is seen to be brighter or darker."""
        return (
            not self.exceeded and max(map(abs, self.worst.light_from(self.point))) <= UNSEEN_SHARE
        )


def has_supply(scene: Scene) -> bool:
    """Tell whether a scene says how its emitters are fed, without a mistake."""
    return isinstance(scene.supply, Supply)


def supply_plan(scene: Scene) -> SupplyPlan:
    """Return the supply plan of a scene.

    Raises SceneError where the scene has no supply, one for another number of LEDs than it has, or
    one that can't light them.
    """
    supply = scene.supply
    if supply is None:
        raise _error(
            scene,
            "supply",
            "missing",
            "describe how the emitters are fed and cooled under [supply], [supply.led] and "
            "[supply.heat_sink]",
        )
    if isinstance(supply, Unfinished):
        raise SceneError(supply.mistakes, scene.title or "scene")
    emitters = sum(group.count for group in scene.emitters.values())
    if supply.led_count != emitters:
        raise _error(
            scene,
            "supply.strings",
            f"with series = {supply.series} and abreast = {supply.abreast} this feeds "
            f"{supply.led_count:,} LEDs, but the scene has {emitters:,} emitters",
            "each emitter is one LED, or one bar that is used as such",
            supply.strings,
        )
    exact_ohm = dropper_ohm = None
    if supply.feed == "dropper":
        exact_ohm, dropper_ohm = _droppers(scene, supply)
    usual = Conditions(supply.room_c)
    ohm = dropper_ohm or 0.0
    point = work(supply, scene.housing, ohm, usual)
    if point.string_a <= 0.0:
        raise _error(
            scene,
            "supply.voltage_v",
            f"does not light the string: its {supply.series} LEDs need more",
            "put fewer in series, or raise the voltage",
            supply.voltage_v,
        )
    if point.led_lm > (most := led_curve.efficacy(supply.led) * point.led_w):
        # Its heat would be less than nothing.
        raise _error(
            scene,
            "supply.led",
            f"gives {point.led_lm:.3g} lm at {point.led_w:.3g} W, in which there are no more than "
            f"{most:.3g} lm",
            "compare current, voltage and flux with the data sheet: they are those of one LED",
        )
    deviations = deviations_of(supply, scene.housing, ohm)
    plan = SupplyPlan(scene, supply, point, exact_ohm, dropper_ohm, None, deviations, ())
    if dropper_ohm is not None:
        plan = replace(plan, rating_w=power_rating(plan.worst.hottest.dropper_w))
    return replace(plan, exceeded=tuple(_exceeded(plan)))


def _droppers(scene: Scene, supply: Supply) -> tuple[float, float]:
    """Return the dropper for the wanted current and the preferred value that is fitted."""
    if supply.dropper_ohm is not None:
        return supply.dropper_ohm, supply.dropper_ohm
    current_a = 1e-3 * (supply.current_ma or 0.0)
    exact = dropper_for(supply, scene.housing, current_a)
    if exact <= 0.0:
        needed = supply.voltage_v - exact * current_a
        raise _error(
            scene,
            "supply.voltage_v",
            f"leaves nothing for a dropper: at {supply.current_ma:g} mA the string and the "
            f"supply's droop take {needed:.3g} V",
            "put fewer LEDs in series, or raise the voltage",
            supply.voltage_v,
        )
    return exact, nearest_preferred(exact)


def _error(scene: Scene, path: str, problem: str, advice: str, value: Any = NO_VALUE) -> SceneError:
    return SceneError([Mistake(path, problem, value, advice)], scene.title or "scene")


def _exceeded(plan: SupplyPlan) -> Iterator[str]:
    """Every limit that the usual lamp or the worst one oversteps, as a sentence."""
    supply, led = plan.supply, plan.supply.led
    for which, point, supply_a in (
        ("the usual lamp", plan.point, plan.point.supply_a),
        ("the worst lamp", plan.worst.hottest, plan.worst.supply_a),
    ):
        if point.runaway:
            yield (
                f"In {which} the heat finds no balance: junctions pass {point.junction_c:.0f} °C. "
                "Cool more, or feed less."
            )
            continue
        if led.limit_ma is not None and 1e3 * point.led_a > led.limit_ma:
            yield (
                f"In {which} each LED carries {1e3 * point.led_a:.0f} mA; its limit is "
                f"{led.limit_ma:g} mA."
            )
        if point.junction_c > led.limit_c:
            yield (
                f"In {which} junctions reach {point.junction_c:.0f} °C; their limit is "
                f"{led.limit_c:g} °C."
            )
        if supply.limit_ma is not None and 1e3 * supply_a > supply.limit_ma:
            yield (
                f"In {which} the supply gives {1e3 * supply_a:.0f} mA; its limit is "
                f"{supply.limit_ma:g} mA."
            )
    for which, point in (("the usual lamp", plan.point), ("the dimmest lamp", plan.worst.dimmest)):
        if not point.held:
            yield (
                f"In {which} the supply's voltage is too low for the driver, which holds only "
                f"{1e3 * point.string_a:.0f} mA."
            )
    if plan.worst.dimmest.string_a <= 0.0:
        yield "In the dimmest lamp the supply does not light the LEDs at all."
    if plan.dropper_ohm is not None and plan.rating_w is None:
        yield (
            f"A dropper turns {plan.worst.hottest.dropper_w:.0f} W to heat, more than any small "
            "resistor should."
        )


def greediest_a(plan: SupplyPlan) -> float:
    """Return the amperes of an LED of the lowest bin beside others of the highest in one stage.

    LEDs side by side have one voltage between them and share the current by their own curves.
    """
    supply, led, point = plan.supply, plan.supply.led, plan.point
    if supply.abreast == 1:
        return point.led_a
    shift, junction_c = led.voltage_spread_v, point.junction_c
    currents = np.linspace(0.0, point.string_a, 2001)
    volts = np.array([led_curve.forward_voltage(led, a, junction_c) for a in currents])
    # One voltage for all: u(one) - shift = u(others) + shift on the usual LED's curve u.
    others = np.interp(volts - 2.0 * shift, volts, currents, left=0.0)
    total = currents + (supply.abreast - 1) * others
    return float(min(np.interp(point.string_a, total, currents), point.string_a))
