"""Lamps that tell one kind of event from another: the split-film lamp with parts changed or gone.

Each makes some kind frequent or does without it, so that from their times the cost of each kind
follows. Light from a lamp with a narrow lobe meets one part after the other, and little else.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator
from typing import Any

from benchmarks.tracing import SCENES
from photonsim.scene import Scene, scene_from_dict

SPLIT_FILM = "d_split_film"
# Within a degree or two of the axis.
NARROW = 4000.0
Tables = dict[str, Any]


def lamps() -> Iterator[tuple[str, Scene]]:
    """Yield (what is special, scene); the first is the split-film lamp itself."""
    split = tomllib.loads((SCENES / f"{SPLIT_FILM}.toml").read_text(encoding="utf-8"))
    yield _made("as shipped", split)
    for name, changed in [*_boxes(split), *_films(split), *_pictures(split), *_trains(split)]:
        yield _made(name, changed)


def _made(name: str, tables: Tables) -> tuple[str, Scene]:
    return name, scene_from_dict(tables, name)


def _boxes(split: Tables) -> Iterator[tuple[str, Tables]]:
    """Boxes without film: light that is absorbed at once, thrown about, or mirrored."""
    bare = _without(split, "film")
    yield "no film", bare
    yield "black box", _reflecting(bare, walls=0.0, level=0.0)
    yield "white walls", _reflecting(bare, walls=0.95, level=0.0)
    mirrors = _reflecting(bare, walls=0.95, level=0.0)
    mirrors["housing"]["walls"]["specular_share"] = 1.0
    yield "mirror walls", mirrors
    yield "white base and frame", _reflecting(bare, walls=0.0, level=0.95)
    yield "all white", _reflecting(bare, walls=0.9, level=0.9)
    beside = _narrow(_reflecting(bare, walls=0.0, level=0.0))
    # The bars side by side under the frame: light that ends at the first thing it meets.
    beside["emitters"]["bars"] |= {"columns": 1, "rows": 1, "x_mm": 50.0}
    beside["emitters"]["bars"]["width_mm"] = 0.5
    yield "onto the frame", beside


def _films(split: Tables) -> Iterator[tuple[str, Tables]]:
    """Film whole, doubled, under light that only comes once, and gaps alone."""
    whole = copy.deepcopy(split)
    del whole["train"]["film"]["strips"]
    yield "whole film", whole
    yield "whole film, black box", _reflecting(whole, walls=0.0, level=0.0)
    yield "two films", _more(whole, "film", 2, 4.0)
    gaps = copy.deepcopy(split)
    gaps["train"]["film"]["strips"] = {"across": "y", "covered_mm": [[-34.9, -34.8]]}
    yield "six gaps", _more(gaps, "film", 6, 4.0)
    yield "mirror walls and film", _mirrored(split)


def _pictures(split: Tables) -> Iterator[tuple[str, Tables]]:
    """Light from all sides onto a panel with less picture, and through less train."""
    bare = _without(split, "film")
    for name, lamp in (("", bare), (" and film", split)):
        small = copy.deepcopy(lamp)
        small["train"]["panel"] |= {"active_width_mm": 30.0, "active_height_mm": 20.0}
        yield f"small picture{name}", small
    shut = copy.deepcopy(bare)
    shut["train"]["field_lens"]["diameter_mm"] = 2.0
    yield "field lens shut", shut
    for name, diameter in (("shut", 2.0), ("wide", 400.0)):
        yield f"no lenses, stop {name}", _no_lenses(bare, diameter)


def _trains(split: Tables) -> Iterator[tuple[str, Tables]]:
    """Narrow light onto the pixels and through more and more of the train."""
    narrow = _narrow(_without(split, "film"))
    wide = _no_lenses(narrow, 200.0)
    yield "narrow, stop shut", _no_lenses(narrow, 0.1)
    yield "narrow, stop wide", wide
    yield "narrow, four field lenses", _added(wide, split, "field_lens", 4, {"focal_mm": 2000.0})
    wide_lens = {"diameter_mm": 130.0, "radius_lamp_mm": 900.0, "thickness_mm": 8.0}
    yield "narrow, two lenses", _added(wide, split, "rear_lens", 2, wide_lens)
    yield "narrow, four lenses", _added(wide, split, "rear_lens", 4, wide_lens)
    narrow["train"]["stop"]["diameter_mm"] = 56.0
    yield "narrow, objective and screen", narrow


def _no_lenses(tables: Tables, stop_mm: float) -> Tables:
    """Return tables without lenses and screen, the stop so wide."""
    found = copy.deepcopy(tables)
    for lens in ("field_lens", "rear_lens", "front_lens"):
        del found["train"][lens]
    del found["screen"], found["supply"]
    found["train"]["stop"]["diameter_mm"] = stop_mm
    return found


def _without(tables: Tables, part: str) -> Tables:
    found = copy.deepcopy(tables)
    del found["train"][part]
    return found


def _reflecting(tables: Tables, walls: float, level: float) -> Tables:
    """Return tables with other reflectances of the walls and of base, emitters and frame."""
    found = copy.deepcopy(tables)
    found["housing"]["walls"]["reflectance"] = walls
    found["housing"]["base"]["reflectance"] = level
    found["emitters"]["bars"]["reflectance"] = level
    found["train"]["panel"]["frame_reflectance"] = level
    return found


def _mirrored(tables: Tables) -> Tables:
    found = _reflecting(tables, walls=0.95, level=0.05)
    found["housing"]["walls"]["specular_share"] = 1.0
    return found


def _narrow(tables: Tables) -> Tables:
    found = copy.deepcopy(tables)
    del found["emitters"]["bars"]["half_angle_deg"]
    found["emitters"]["bars"]["cosine_power"] = NARROW
    return found


def _more(tables: Tables, part: str, count: int, step_mm: float) -> Tables:
    """Return tables with `count` of a part, one above the other."""
    found = copy.deepcopy(tables)
    original = found["train"].pop(part)
    copies = {
        f"{part}_{k}": original | {"z_mm": original["z_mm"] + step_mm * k} for k in range(count)
    }
    found["train"] = copies | found["train"]
    return found


def _added(
    tables: Tables, source: Tables, part: str, count: int, values: dict[str, float]
) -> Tables:
    """Return tables with `count` of a part of another lamp between panel and stop."""
    found = copy.deepcopy(tables)
    stop = found["train"].pop("stop")
    for k in range(count):
        added = source["train"][part] | values | {"z_mm": 60.0 + 20.0 * k}
        found["train"][f"{part}_{k}"] = added
    found["train"]["stop"] = stop
    return found
