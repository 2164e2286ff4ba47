"""What is built and fed: the plan of a supply, the pieces to cut."""

from __future__ import annotations

from photonsim.public.given import Lamp
from photonsim.results import scene_of
from photonsim.supply.plan import SupplyPlan
from photonsim.supply.plan import supply_plan as plan_of
from photonsim.workshop.cutting import CuttingPlan
from photonsim.workshop.cutting import cutting_plan as pieces_of


def supply_plan(scene: Lamp) -> SupplyPlan:
    """Plan how the LEDs of a lamp are fed and cooled; `photonsim.answer` tells all of it.

    `point` holds amperes, volts, watts, °C and lumens of the usual lamp, warmed up; `deviations`
    how far lamps stray from it; `exceeded` what no maker allows. Before you build: bright LEDs,
    heat and mains can hurt; local codes and licensed practice come first. Raises SceneError where
    the scene has no [supply] that lights its emitters, ResultError for a file that can't be read.

    >>> import photonsim
    >>> plan = photonsim.supply_plan("scenes/d_split_film.toml")
    >>> f"{plan.point.led_lm:.1f} lm a LED, {plan.dropper_ohm:g} ohms a string"
    '19.6 lm a LED, 68 ohms a string'
    """
    return plan_of(scene_of(scene))


def cutting_plan(scene: Lamp, kerf_mm: float = 0.0, flap_mm: float = 10.0) -> CuttingPlan:
    """Lay out what there is to cut for a lamp, in millimetres; `photonsim.answer` lists the parts.

    `kerf_mm` is the width that the cutter takes away: 0 for a knife, 0.1 to 0.3 for a laser
    (common practice); `flap_mm` that of the flaps which the walls are glued by. Raises SceneError,
    and ResultError for widths that make no sense.

    >>> import photonsim
    >>> plan = photonsim.cutting_plan("scenes/d_split_film.toml")
    >>> plan.pieces[0].name, plan.pieces[0].size_mm
    ('base', (128.0, 90.0))
    """
    return pieces_of(scene_of(scene), kerf_mm, flap_mm)
