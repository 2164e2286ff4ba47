"""Every function that makes a figure, by its name: all words readable, wide and narrow.

Words stay inside, apart from one another, and of six points at 160 mm; names and titles are long,
and there are 1, 2, 9 and 20 of what stands side by side.
"""

import importlib
import inspect
import pkgutil
from functools import cache

import numpy as np
import pytest
from matplotlib.figure import Figure

import photonsim.figures as figures
from photonsim.engine import sample_paths, trace
from photonsim.figures import PRINT, SLIDES
from photonsim.figures.sheets.cutting_sheet import draw_cutting_sheet, draw_reduced, draw_whole
from photonsim.figures.study import curves, many, tolerance
from photonsim.figures.study.residuals import draw_residuals
from photonsim.figures.style import MM_PER_INCH
from photonsim.optics.orientation import MOUNTINGS, mounting_of
from photonsim.scene import load_scene
from photonsim.supply.load_line import load_lines
from photonsim.supply.plan import supply_plan
from photonsim.workshop.cutting import cutting_plan
from photonsim.workshop.parts_list import HEADINGS, parts_rows
from photonsim.workshop.readings import Reading
from tests.figures.layout import assert_readable
from tests.figures.test_study_words import STUDIES
from tests.lopsided import lopsided
from tests.shipped import FOLDER, scene

pytestmark = pytest.mark.filterwarnings("error")

LONG = "two crossed films from the broken screen, walls of mirror card and an opal sheet"
LETTERS = "bcdfghj"


@cache
def result(letter):
    """A shipped lamp under a long name, traced as long as a test may wait."""
    return trace(scene(letter).with_numbers({"title": LONG}), photons=100_000)


@cache
def sure():
    """A lamp so bright and traced so long that its figures have the most digits."""
    return trace(scene("f").with_numbers({"title": LONG}), photons=1 << 22)


@cache
def warned():
    """A result that must be warned of, in several lines."""
    lamp = load_scene(FOLDER / "backlight" / "telephone.toml")
    return trace(lamp.with_numbers({"title": LONG}), photons=100_000, guide=result("d"))


def designs(count):
    return [(f"{LONG} {k}" if k % 3 else f"short {k}", result("dfh"[k % 3])) for k in range(count)]


def of_one(draw):
    drawn = {letter: lambda look, letter=letter: draw(result(letter), look) for letter in "dh"}
    return drawn | {"sure": lambda look: draw(sure(), look),
                    "warned": lambda look: draw(warned(), look)}  # fmt: skip


def of_many(draw, *more):
    return {count: lambda look, count=count: draw(designs(count), *more, look)
            for count in (1, 2, 9, 20)}  # fmt: skip


def orientation(look, mountings):
    own = mounting_of(scene("d"))
    return figures.draw_orientation(mountings or [own], own, LONG, look)


def side_view(letter, look):
    lamp = scene(letter)
    return figures.draw_side_view(lamp, sample_paths(lamp, 0, arriving=8), look)


def residuals(look, places, sheets, across):
    """Residuals of a net of readings at each place, and of sheets with long names."""
    luck = np.random.default_rng(1)
    net = [(x, y) for x in np.linspace(-45, 45, across) for y in np.linspace(-25, 25, across)]
    readings = [Reading(place, 900.0, 30.0, x_mm=x, y_mm=y) for place in places for x, y in net]
    readings += [Reading("sheet", 500.0, 15.0, part=f"{LONG} {k}".replace(" ", "_"), angle_deg=a)
                 for k in range(sheets) for a in (0.0, 20.0, 40.0, 60.0)]  # fmt: skip
    left, lux = luck.normal(0.0, 2.0, len(readings)), np.full(len(readings), 700.0)
    return draw_residuals(readings, left, lux, scene("d").panel, look)


def plan_of(lamp):
    plan = cutting_plan(lamp)
    return plan, [HEADINGS, *parts_rows(plan)], plan.remarks


def study(draw, name):
    return {name: lambda look: draw(STUDIES[name], look)}


CASES = {
    "draw_maps": of_one(figures.draw_maps)
    | {"lux": lambda look: figures.draw_maps(result("d"), look._replace(unit="lux")),
       "lines": lambda look: figures.draw_maps(result("d"), look._replace(contours=True))},
    "draw_angular_spread": of_one(figures.draw_angular_spread),
    "draw_intensity": of_one(figures.draw_intensity),
    "draw_profile": of_one(figures.draw_profile),
    "draw_ledger": of_one(figures.draw_ledger),
    "draw_emission": of_one(figures.draw_emission),
    "draw_blur": of_one(figures.draw_blur),
    "draw_line_contrast": of_one(figures.draw_line_contrast),
    "draw_stop": of_one(figures.draw_stop),
    "draw_side_view": {k: lambda look, k=k: side_view(k, look) for k in LETTERS},
    "draw_designs": of_many(figures.draw_designs),
    "draw_small_maps": of_many(figures.draw_small_maps),
    "draw_preview": of_many(figures.draw_preview, np.ones((27, 48, 3))),
    "draw_supply": {
        k: lambda look, k=k: figures.draw_supply(load_lines(supply_plan(scene(k))), LONG, look)
        for k in "dghi"
    },
    "draw_orientation": {
        "all": lambda look: orientation(look, MOUNTINGS),
        "own": lambda look: orientation(look, ()),
    },
    "draw_residuals": {
        "one place": lambda look: residuals(look, ["panel"], 0, 3),
        "both": lambda look: residuals(look, ["panel", "screen"], 2, 12),
        "nine sheets": lambda look: residuals(look, [], 9, 0),
        "twenty": lambda look: residuals(look, ["screen"], 20, 1),
    },
    "draw_curves": study(curves.draw_curves, "curves"),
    "draw_map": study(curves.draw_map, "map"),
    "draw_parallel": study(many.draw_parallel, "parallel"),
    "draw_search": study(many.draw_search, "search"),
    "draw_front": study(many.draw_front, "front"),
    "draw_scatter": study(tolerance.draw_scatter, "tolerance"),
    "draw_shares": study(tolerance.draw_shares, "tolerance"),
}  # fmt: skip
# At full size, or as wide as the pieces need: a look has nothing to choose.
SHEETS = {"draw_cutting_sheet": lambda lamp: draw_cutting_sheet(*plan_of(lamp)),
          "draw_whole": lambda lamp: [draw_whole(cutting_plan(lamp))],
          "draw_reduced": lambda lamp: [draw_reduced(cutting_plan(lamp))]}  # fmt: skip
# As narrow as for slides, which a report's figures are too; 1 and 20 on a page alone.
DRAWN = [(name, case, look) for name, cases in CASES.items() for case in cases
         for look in ("page", "slide", "narrow")[: 1 if case in (1, 20) else 3]]  # fmt: skip
LOOKS = {"page": PRINT, "slide": SLIDES, "narrow": PRINT._replace(width_in=120.0 / MM_PER_INCH)}


def test_no_figure_is_left_out():
    found = set()
    for module in pkgutil.walk_packages(figures.__path__, "photonsim.figures."):
        for name, member in inspect.getmembers(importlib.import_module(module.name)):
            if name.startswith("draw_") and inspect.isfunction(member):
                made = str(inspect.signature(member).return_annotation)
                if made in ("Figure", "list[Figure]"):
                    found.add(name)
    assert found == set(CASES) | set(SHEETS)


@pytest.mark.parametrize(("name", "case", "look"), DRAWN)
def test_all_words_can_be_read(name, case, look):
    figure = CASES[name][case](LOOKS[look])
    assert isinstance(figure, Figure)
    assert_readable(figure)


@pytest.mark.parametrize("name", SHEETS)
@pytest.mark.parametrize("lamp", ["d", "f", "lopsided"])
def test_all_words_of_the_workshop_can_be_read(name, lamp):
    for figure in SHEETS[name](lopsided() if lamp == "lopsided" else scene(lamp)):
        assert_readable(figure, tiled=name == "draw_cutting_sheet")
