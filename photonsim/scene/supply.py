"""How the emitters are fed and cooled: one supply, one kind of LED in equal strings."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import replace
from typing import Annotated, Any, Literal

from pydantic import Field, PlainValidator, ValidationError
from pydantic_core import PydanticKnownError

from photonsim.scene.led import Led
from photonsim.scene.mistakes import Mistake
from photonsim.scene.model import SceneModel
from photonsim.scene.quantities import Length, NotVanishing, Share, ShareAboveZero
from photonsim.scene.unfinished import Unfinished
from photonsim.scene.wording import mistakes_of

Tolerance = Annotated[float, Field(ge=0.0, le=0.5)]
Celsius = Annotated[float, Field(ge=-40.0, le=100.0)]
Count = Annotated[int, Field(ge=1, le=100_000)]
KelvinPerWatt = Annotated[float, Field(ge=0.0, le=10_000.0)]


class HeatSink(SceneModel):
    """What carries the LEDs' heat to the air, standing upright: a figure, a plate, or fins.

    >>> from photonsim import HeatSink
    >>> HeatSink(width_mm=108, height_mm=70, fins=12, fin_depth_mm=18, fin_thickness_mm=1.5).fins
    12
    """

    k_per_w: KelvinPerWatt | None = Field(
        default=None, description="how many kelvin the heat sink warms per watt, if known"
    )
    width_mm: Length | None = Field(
        default=None, description="the width of the plate in millimetres"
    )
    height_mm: Length | None = Field(
        default=None, description="the upright height of the plate in millimetres"
    )
    faces: Literal[1, 2] = Field(
        default=1, description="how many faces of a bare plate meet the air, 1 or 2"
    )
    fins: Annotated[int, Field(ge=2, le=1000)] | None = Field(
        default=None, description="the number of upright fins on the back (default: none)"
    )
    fin_depth_mm: Length | None = Field(
        default=None, description="how far the fins stand out in millimetres"
    )
    fin_thickness_mm: Length | None = Field(
        default=None, description="the thickness of a fin in millimetres"
    )
    emissivity: Share = Field(
        default=0.1, description="the emissivity: about 0.1 for bare metal, 0.9 for paint"
    )
    board_k_per_w: KelvinPerWatt = Field(
        default=0.0,
        description="the kelvin per watt between the LEDs' solder points, all together, and the "
        "heat sink: board, tape, paste",
    )

    def contradictions(self) -> Iterator[Mistake]:
        """A heat sink that is described twice, by half, or by fins that fill its width."""
        plate, fins = ("width_mm", "height_mm"), ("fins", "fin_depth_mm", "fin_thickness_mm")
        if self.k_per_w is not None:
            yield from self.beside("k_per_w", "give that, or the sizes", *plate, *fins)
            return
        if not self.given(*plate, *fins):
            yield self.missing("k_per_w", "or give width_mm and height_mm")
            return
        found = self.lacking(*plate, *(fins if self.given(*fins) else ()))
        yield from found
        taken_mm = (self.fins or 0) * (self.fin_thickness_mm or 0.0)
        if not found and taken_mm >= (self.width_mm or 0.0):
            yield Mistake("fins", "leave no room for air between them", self.fins)


class Box(SceneModel):
    """The closed housing around the heat sink, whose air grows warm.

    >>> from photonsim import Box
    >>> Box(wall_mm=6).wall_w_per_m_k  # of plywood
    0.13
    """

    k_per_w: KelvinPerWatt | None = Field(
        default=None,
        description="how many kelvin the air in the box warms per watt (default: estimated from "
        "the housing's size and its walls)",
    )
    wall_mm: Length = Field(default=4.0, description="the thickness of its walls in millimetres")
    wall_w_per_m_k: Annotated[float, Field(gt=0.0, le=500.0), NotVanishing] = Field(
        default=0.13,
        description="the thermal conductivity of its walls in W/(m K); plywood has 0.13",
    )
    light_kept: Share = Field(
        default=1.0, description="the share of the light that ends as heat in the box"
    )


class Supply(SceneModel):
    """A voltage supply with droppers or drivers, strings of LEDs, and where their heat goes.

    A string is `series` stages in a row, each of `abreast` LEDs side by side; `strings` equal
    strings, each with its own dropper or driver, hang on the supply.

    >>> import photonsim
    >>> scene = photonsim.load_scene("scenes/d_split_film.toml")
    >>> scene.supply.feed, scene.supply.led_count
    ('dropper', 45)
    """

    feed: Literal["dropper", "driver"] = Field(
        description='what holds the current: "dropper", a resistor in each string, or "driver", a '
        "constant-current driver for each"
    )
    voltage_v: Annotated[float, Field(gt=0.0, le=400.0), NotVanishing] = Field(
        description="the voltage of the supply without load in volts"
    )
    voltage_tolerance: Tolerance = Field(
        default=0.05, description="the share by which the voltage may be off either way"
    )
    droop_ohm: Annotated[float, Field(ge=0.0, le=1000.0)] = Field(
        default=0.0, description="the volts that the supply and its leads lose per ampere"
    )
    limit_ma: Annotated[float, Field(gt=0.0, le=1.0e6), NotVanishing] | None = Field(
        default=None, description="the current in mA that the supply may give"
    )
    series: Count = Field(description="the number of stages in a string")
    abreast: Count = Field(default=1, description="the number of LEDs side by side in a stage")
    strings: Count = Field(default=1, description="the number of strings")
    current_ma: Annotated[float, Field(gt=0.0, le=1.0e5), NotVanishing] | None = Field(
        default=None, description="the current in mA that is wanted in each string"
    )
    dropper_ohm: Annotated[float, Field(gt=0.0, le=1.0e6), NotVanishing] | None = Field(
        default=None, description="the dropper of each string in ohms"
    )
    dropper_tolerance: Tolerance = Field(
        default=0.05, description="the share by which the dropper may be off either way"
    )
    driver_tolerance: Tolerance = Field(
        default=0.05, description="the share by which the driver's current may be off either way"
    )
    driver_headroom_v: Annotated[float, Field(ge=0.0, le=100.0)] = Field(
        default=1.5, description="the volts that the driver needs above those of its string"
    )
    driver_efficiency: ShareAboveZero = Field(
        default=0.9, description="the share of the power that the driver passes on"
    )
    switch_width_mm: Length | None = Field(
        default=None,
        description="the width across the axis in millimetres of the room for the switch and its "
        "terminals on the board plan (default: none)",
    )
    switch_depth_mm: Length | None = Field(
        default=None, description="the length of that room along the axis in millimetres"
    )
    room_c: Celsius = Field(default=25.0, description="the usual room temperature in °C")
    coldest_room_c: Celsius = Field(default=10.0, description="the coldest room in °C")
    warmest_room_c: Celsius = Field(default=35.0, description="the warmest room in °C")
    led: Led = Field(description="the table of the LEDs' data sheet")
    heat_sink: HeatSink = Field(
        description="the table of what cools the LEDs: their own board, if there is nothing else"
    )
    box: Box | None = Field(
        default=None, description="the table of a closed box around the heat sink (default: none)"
    )

    @property
    def led_count(self) -> int:
        """How many LEDs the supply feeds."""
        return self.series * self.abreast * self.strings

    def contradictions(self) -> Iterator[Mistake]:
        """A current set twice or not at all, half a switch, or temperatures out of order."""
        if self.given("switch_width_mm", "switch_depth_mm"):
            yield from self.lacking("switch_width_mm", "switch_depth_mm")
        if self.feed == "driver":
            yield from self.lacking("current_ma")
            if self.dropper_ohm is not None:
                problem = "does not belong to a driver, which holds the current itself"
                yield Mistake("dropper_ohm", problem, self.dropper_ohm)
        elif not self.given("current_ma", "dropper_ohm"):
            yield self.missing("current_ma", "or give dropper_ohm")
        elif self.current_ma is not None:
            other = "current_ma; one follows from the other"
            yield from self.beside(other, "keep one", "dropper_ohm")
        rooms = ("coldest_room_c", "room_c", "warmest_room_c")
        for low, high in itertools.pairwise(rooms):
            if getattr(self, high) < getattr(self, low):
                problem = f"must be at least {low} = {getattr(self, low):g}"
                yield Mistake(high, problem, getattr(self, high))


def _supply_of(value: Any) -> Supply | Unfinished | None:
    """Return the supply that a table describes; with mistakes it is unfinished, and no more."""
    if value is None or isinstance(value, Supply | Unfinished):
        return value
    if not isinstance(value, dict):
        raise PydanticKnownError("model_type", {"class_name": "Supply"})
    try:
        return Supply.model_validate(value)
    except ValidationError as error:
        found = mistakes_of(error, Supply)
    return Unfinished(value, tuple(replace(one, path=f"supply.{one.path}") for one in found))


# Tracing needs no supply, so one that is half filled in must not stop it.
AnySupply = Annotated[Supply | Unfinished | None, PlainValidator(_supply_of)]
