"""What makes one lamp differ from the next: LEDs, supply, dropper or driver, and the season."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

from photonsim.scene import Housing, Supply
from photonsim.supply.working_point import Conditions, WorkingPoint, work

ALL_TOGETHER = "all together"


@dataclass(frozen=True)
class Deviation:
    """What a cause does by itself, all else being usual: the working points that it leads to."""

    cause: str
    points: tuple[WorkingPoint, ...]

    @property
    def dimmest(self) -> WorkingPoint:
        """The point of least light."""
        return min(self.points, key=lambda point: point.total_lm)

    @property
    def brightest(self) -> WorkingPoint:
        """The point of most light."""
        return max(self.points, key=lambda point: point.total_lm)

    @property
    def hottest(self) -> WorkingPoint:
        """The point of the highest junction temperature; a dropper's carries the most current."""
        return max(self.points, key=lambda point: (point.junction_c, point.string_a))

    @property
    def supply_a(self) -> float:
        """The most amperes that the supply gives."""
        return max(point.supply_a for point in self.points)

    def light_from(self, usual: WorkingPoint) -> tuple[float, float]:
        """Return the least and the most light relative to the usual lamp's, less 1."""
        return _relative([point.total_lm for point in self.points], usual.total_lm)

    def current_from(self, usual: WorkingPoint) -> tuple[float, float]:
        """Return the least and the most current relative to the usual lamp's, less 1."""
        return _relative([point.string_a for point in self.points], usual.string_a)


def deviations_of(supply: Supply, housing: Housing, dropper_ohm: float) -> tuple[Deviation, ...]:
    """Return the deviation by every cause alone, and by all of them together as the last."""
    return tuple(
        Deviation(cause, tuple(work(supply, housing, dropper_ohm, end) for end in ends))
        for cause, ends in _causes(supply).items()
    )


def whole_deviation(supply: Supply, housing: Housing, dropper_ohm: float) -> Deviation:
    """Return the deviation by all causes together: worst cases, and rarer than a standard error."""
    ends = _causes(supply)[ALL_TOGETHER]
    return Deviation(ALL_TOGETHER, tuple(work(supply, housing, dropper_ohm, end) for end in ends))


def _causes(supply: Supply) -> dict[str, tuple[Conditions, ...]]:
    """Return every cause with its ends.

    LEDs of low voltage, a high supply and a small dropper all raise the current. A warm room
    raises it too, but dims the LEDs at a given current, so both rooms are tried with either. A
    driver holds the current: there LEDs of high voltage get hotter, and a low supply gives more
    amperes, so all ends are tried with all.
    """
    usual = Conditions(supply.room_c)
    shift, off = supply.led.voltage_spread_v, supply.voltage_tolerance
    rooms = (supply.coldest_room_c, supply.warmest_room_c)
    if supply.feed == "dropper":
        part, part_off = "dropper", supply.dropper_tolerance
        less, more = {"dropper": 1.0 + part_off}, {"dropper": 1.0 - part_off}
    else:
        part, part_off = "driver", supply.driver_tolerance
        less, more = {"driver": 1.0 - part_off}, {"driver": 1.0 + part_off}
    ends = [
        replace(usual, shift_v=shift, voltage=1.0 - off, **less),
        replace(usual, shift_v=-shift, voltage=1.0 + off, **more),
    ]
    if supply.feed == "driver":
        ends = [
            replace(usual, shift_v=volts, voltage=factor, **share)
            for volts in (shift, -shift)
            for factor in (1.0 - off, 1.0 + off)
            for share in (less, more)
        ]
    return {
        f"forward voltage of every LED ± {shift:g} V": (
            replace(usual, shift_v=shift),
            replace(usual, shift_v=-shift),
        ),
        f"supply voltage ± {100 * off:g} %": (
            replace(usual, voltage=1.0 - off),
            replace(usual, voltage=1.0 + off),
        ),
        f"{part} ± {100 * part_off:g} %": (replace(usual, **less), replace(usual, **more)),
        f"room {rooms[0]:g} to {rooms[1]:g} °C": tuple(
            replace(usual, room_c=room) for room in rooms
        ),
        ALL_TOGETHER: tuple(replace(end, room_c=room) for end, room in product(ends, rooms)),
    }


def _relative(values: list[float], usual: float) -> tuple[float, float]:
    return min(values) / usual - 1.0, max(values) / usual - 1.0
