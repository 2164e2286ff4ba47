"""The supply plan as text for a person."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from photonsim.scene.light_plate import plates_of
from photonsim.supply.eye_safety import glare_of
from photonsim.supply.lamp_to_lamp import Deviation
from photonsim.supply.plan import UNSEEN_SHARE, SupplyPlan, greediest_a
from photonsim.supply.working_point import WorkingPoint
from photonsim.words.cautions import FOR_SUPPLY, RISK_GROUPS, for_lamp, strip_words
from photonsim.words.text import aligned, bullets, number, paragraph, percent

# Metal hotter than this burns the skin within seconds (ISO 13732-1: from memory, 60 to 65 °C).
TOO_HOT_TO_TOUCH_C = 60.0
# From about this on plastics soften under load (common practice, some 10 to 20 K below what tests
# by ISO 306 and ISO 75 give); glass does not.
SOFTENS_C = {"acrylic": 80.0, "polystyrene": 75.0, "polycarbonate": 120.0, None: 75.0}


def plan_text(plan: SupplyPlan) -> str:
    """Text about a plan: circuit, heat, light, spread, limits exceeded, cautions."""
    title = paragraph(f"{plan.scene.title or 'Untitled scene'}: supply and heat")
    exceeded = {0: "Limits: none exceeded", 1: "Limits: 1 exceeded"}
    count = len(plan.exceeded)
    sections = [
        ("Circuit", bullets(_circuit(plan))),
        ("Heat", bullets(_heat(plan))),
        ("Light", bullets(_light(plan))),
        ("Lamp to lamp", f"{_deviation_table(plan)}\n{bullets(_verdict(plan))}"),
        (exceeded.get(count, f"Limits: {count} exceeded"), bullets(plan.exceeded)),
        ("Cautions", bullets(for_lamp(FOR_SUPPLY, plan.scene))),
    ]
    paragraphs = [f"{name}\n{text}" if text else name for name, text in sections]
    return "\n\n".join([f"{title}\n{'=' * max(map(len, title.splitlines()))}", *paragraphs])


def _circuit(plan: SupplyPlan) -> Iterator[str]:
    supply, point = plan.supply, plan.point
    abreast = "" if supply.abreast == 1 else f", {supply.abreast} side by side in each"
    strings = "1 string" if supply.strings == 1 else f"{supply.strings} strings"
    yield (
        f"{supply.led_count} LEDs: {strings} of {supply.series} in series{abreast}, from "
        f"{supply.voltage_v:g} V ({number(point.supply_v, 4)} V loaded)."
    )
    if supply.feed == "dropper":
        yield from _dropper(plan)
    else:
        yield (
            f"A driver for each string holds {number(1e3 * point.string_a)} mA at "
            f"{number(supply.series * point.led_v)} V; with the {supply.driver_headroom_v:g} V it "
            f"needs for itself, {number(supply.series * point.led_v + supply.driver_headroom_v)} V."
        )
    if typical := supply.led.typical:
        told = ", ".join(f"{key} {value:g}" for key, value in typical.items())
        yield (
            f"Typical of a {supply.led.package}, not read off a data sheet (common practice, from "
            f"memory; flux may differ by a third): {told}."
        )
    yield (
        f"Each LED: {number(1e3 * point.led_a)} mA at {number(point.led_v)} V, "
        f"{number(point.led_w)} W."
    )
    if supply.abreast > 1:
        yield (
            "LEDs side by side share a voltage, not the current: one of the lowest bin among "
            f"others of the highest takes {number(1e3 * greediest_a(plan))} mA. Take them from one "
            "reel."
        )
    yield (
        f"The supply gives {number(1e3 * point.supply_a)} mA, {number(point.total_w)} W; at worst "
        f"{number(1e3 * plan.worst.supply_a)} mA."
    )


def _dropper(plan: SupplyPlan) -> Iterator[str]:
    point = plan.point
    fitted = f"{_ohms(plan.dropper_ohm or 0.0)} in each string"
    if plan.supply.dropper_ohm is None:
        yield (
            f"Dropper: {_ohms(plan.exact_ohm or 0.0)} would give "
            f"{number(plan.supply.current_ma or 0.0)} mA; the nearest preferred value (E24, IEC "
            f"60063), {fitted}, gives {number(1e3 * point.string_a)} mA."
        )
    else:
        yield f"Dropper: {fitted} gives {number(1e3 * point.string_a)} mA."
    rating = (
        "no small resistor is rated for it"
        if plan.rating_w is None
        else f"buy {plan.rating_w:g} W, of which half at most is used"
    )
    yield (
        f"It takes {number(point.dropper_v)} V, {percent(plan.dropper_share)} of the voltage, and "
        f"turns {number(point.dropper_w)} W to heat, {number(plan.worst.hottest.dropper_w)} W at "
        f"worst: {rating}."
    )


def _ohms(ohm: float) -> str:
    return f"{number(ohm)} ohm" if ohm < 1000.0 else f"{number(ohm / 1000.0)} kohm"


def _heat(plan: SupplyPlan) -> Iterator[str]:
    supply, point = plan.supply, plan.point
    leds_w, light_w = supply.led_count * point.led_w, supply.led_count * point.light_w
    yield (
        f"The LEDs take {number(leds_w)} W. {number(light_w)} W leave as light, "
        f"{number(leds_w - light_w)} W as heat through the heat sink."
    )
    if supply.box is not None:
        yield f"The air in the closed box reaches {point.air_c:.0f} °C."
    hot = plan.worst.hottest
    yield (
        f"Heat sink {point.sink_c:.0f} °C, junctions {point.junction_c:.0f} °C in a room of "
        f"{supply.room_c:g} °C; at worst {hot.sink_c:.0f} and {hot.junction_c:.0f} °C, of "
        f"{supply.led.limit_c:g} °C allowed."
    )
    if hot.sink_c > TOO_HOT_TO_TOUCH_C:
        yield (
            f"Above {TOO_HOT_TO_TOUCH_C:.0f} °C metal is too hot to touch, and glue and tape come "
            "off: keep fingers away, and screw the heat sink on."
        )
    yield from _edge_heat(plan)


def _edge_heat(plan: SupplyPlan) -> Iterator[str]:
    """What LEDs on the edges of a light plate do to it; their faces are no hotter than junctions.

    Nothing where there are none.
    """
    point, hot = plan.point, plan.worst.hottest
    lit = {name: group for name, group in plan.scene.emitters.items() if group.edge}
    for name, group in lit.items():
        w_per_m = 1000.0 * point.led_w / group.length_each_mm
        yield f"{name}: {number(w_per_m, 2)} W to a metre of edge; {strip_words(w_per_m)}."
    for name, plate in plates_of(plan.scene.train).items() if lit else ():
        softens_c = SOFTENS_C.get(plate.material)
        if softens_c is not None and hot.junction_c > softens_c:
            stuff = plate.material or "clear plastic"
            yield (
                f"{name}'s lit edge faces LEDs of {hot.sink_c:.0f} to {hot.junction_c:.0f} °C at "
                f"worst; {stuff} softens from about {softens_c:g} °C on (common practice): cool "
                "them more, feed them less, or leave air between, and measure."
            )


def _light(plan: SupplyPlan) -> Iterator[str]:
    scene, point = plan.scene, plan.point
    yield (
        f"Each LED gives {number(point.led_lm)} lm warmed up, all {number(point.total_lm)} lm: "
        f"{number(point.total_lm / point.total_w)} lm per watt from the supply."
    )
    change = point.total_lm / scene.flux_lm - 1.0
    if abs(change) >= 0.005:
        yield (
            f"The scene's emitters give {number(scene.flux_lm)} lm, so a trace of it is off by "
            f"{percent(abs(change))}; --write makes a scene with the plan's lumens."
        )
    glare = glare_of(scene, plan.supply.led, point.led_lm)
    yield (
        f"Bare, they have {number(glare.luminance, 2)} cd/m² and about "
        f"{number(glare.blue_radiance, 2)} W/(m² sr) of blue light, which suggests {glare.group} "
        f"of IEC 62471 ({RISK_GROUPS[glare.group]}). Only a measurement assigns a group."
    )


def _deviation_table(plan: SupplyPlan) -> str:
    rows = [("", "current, %", "light, %", "junction, °C")]
    rows += [_deviation_row(one, plan.point) for one in plan.deviations]
    return textwrap.indent(aligned(rows, left=(0,)), "  ")


def _deviation_row(found: Deviation, usual: WorkingPoint) -> tuple[str, str, str, str]:
    current, light = found.current_from(usual), found.light_from(usual)
    junction = f"{found.hottest.junction_c:.0f}"
    return (found.cause, _range(current), _range(light), junction)


def _range(ends: tuple[float, float]) -> str:
    low, high = (round(100.0 * end) + 0 for end in ends)
    return f"{low:+d} to {high:+d}"


def _verdict(plan: SupplyPlan) -> Iterator[str]:
    low, high = plan.worst.light_from(plan.point)
    widest = percent(max(abs(low), abs(high)))
    unseen = f"{100 * UNSEEN_SHARE:.0f} %"
    if plan.supply.feed == "driver":
        yield f"With a driver the light stays within {widest} of the usual."
    elif plan.exceeded:
        yield (
            "The dropper is not good enough here: see the limits below. Leave more voltage to it "
            "(fewer LEDs in series, or a higher supply), feed less, or take a driver."
        )
    elif plan.is_good_enough:
        yield (
            f"The dropper is good enough: no limit is exceeded in the worst lamp, and the light "
            f"stays within {widest} of the usual, where {unseen} are hardly seen."
        )
    else:
        yield (
            f"The dropper keeps every limit, but in the worst lamp the light is {widest} off the "
            f"usual, where {unseen} are hardly seen. Leave more voltage to it, pick LEDs of one "
            "bin, regulate the supply, or take a driver."
        )
