"""What the maker does around the lamp: first-order optics, doubts and brief, supply and heat."""

from photonsim.bench.brief import caution_line, scene_brief, warnings_text
from photonsim.bench.brightness import Brightness, brightness_of
from photonsim.bench.brightness_text import brightness_text
from photonsim.bench.doubts import Doubt, doubts_about
from photonsim.bench.facts import Facts, facts_of
from photonsim.bench.load_line import LoadLines, load_lines
from photonsim.bench.orientation import MOUNTINGS, Mounting, mounting_of
from photonsim.bench.supply import SupplyPlan, supply_plan
from photonsim.bench.supply_text import plan_text
from photonsim.bench.verdict import Verdict, verdict_of
from photonsim.bench.verdict_text import verdict_text

__all__ = [
    "MOUNTINGS",
    "Brightness",
    "Doubt",
    "Facts",
    "LoadLines",
    "Mounting",
    "SupplyPlan",
    "Verdict",
    "brightness_of",
    "brightness_text",
    "caution_line",
    "doubts_about",
    "facts_of",
    "load_lines",
    "mounting_of",
    "plan_text",
    "scene_brief",
    "supply_plan",
    "verdict_of",
    "verdict_text",
    "warnings_text",
]
