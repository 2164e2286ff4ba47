"""The tallies of a run, each declared once: its axes, who adds to it, and what it must sum to.

Plain data only, like kernel.codes. The columns of a batch row, the arrays of a result, the layout
of its file, what makes it sound and the table in results/README.md follow from here. The line that
adds stands in kernel/counting.py.
"""

from __future__ import annotations

from math import prod
from typing import Any, NamedTuple

CELLS = 9
PROFILE_BINS = 128
POLAR_BINS = 90
PLANE_BINS = 90
DIRECTION_BINS = 90
PUPIL_BINS = 64
SPOT_LEVELS = 5
SPOT_BINS = 64
STOP_BINS = 16
RINGS = 8
# A guide's slots, one for each history of a block of the emission's net; and its cells of emission,
# equal areas of the disc of directions: 32 rings of one width, the k-th cut into 4 (2 k - 1).
SLOTS = 1 << 13
EMISSION_RINGS = 32
EMISSION_CELLS = 4 * EMISSION_RINGS**2
# A cell's histories in a block are doubled from 1 this often at most: to 64, the heaviest weight.
MOST_DOUBLINGS = 6
# Half-height, in direction cosines, of the band that counts as 'in the plane': sin 5 degrees.
PLANE_BAND = 0.08715574274765817
# Of the histories given up, the numbers of so many are kept, to be replayed.
LOST_KEPT = 16
# Direction sums are whole numbers of 2**-20, so that adding them does not depend on the order.
# 2**-20 is 0.2 arc-seconds near the axis; 2**43 photons in one pixel would fit.
DIRECTION_SCALE = 1 << 20


class Axis(NamedTuple):
    """An axis of a tally: bins between two edges, or sums with names of their own.

    `bins` is 0 where the scene says how many there are. Where `reach` names a length of the scene
    (see results.files.layout) the edges are fractions of it; `values` stand instead of bins'
    middles. Of named sums those at `counts` count photons; the others may be negative.
    """

    name: str
    unit: str
    bins: int
    edges: tuple[float, float] = (-1.0, 1.0)
    reach: str = ""
    words: tuple[str, ...] = ()
    counts: tuple[int, ...] = ()
    values: tuple[float, ...] = ()


def named(name: str, words: str, unit: str = "", counts: str | None = None) -> Axis:
    """Return the axis of sums with names of their own; all are counts unless told which are."""
    each = tuple(words.split())
    counted = tuple(each.index(word) for word in (words if counts is None else counts).split())
    return Axis(name, unit, len(each), words=each, counts=counted)


class Tally(NamedTuple):
    """One array of a result: its name there, its axes, what it holds, and its place in the file.

    `by` is who adds to it. `sums_to` names the tally that its counts must add up to, if each
    photon of that is in it once: 'lights' stands for incident and collected, by the axis of lights.
    A tally with `{}` in its place is stored apart by the words of its last axis.
    """

    name: str
    axes: tuple[Axis, ...]
    by: str
    holds: str
    sums_to: str = ""
    place: str = ""

    @property
    def shape(self) -> tuple[int, ...]:
        """The lengths of the axes; 0 where the scene says."""
        return tuple(axis.bins for axis in self.axes)


# Who adds to a tally. In a batch row their columns stand in this order:
# each thread, sums of its own, joined now and then;
OWN = "thread"
# seldom, straight into 64 bits: light that has landed on the screen;
LANDING = "landing"
# each arrival at the panel and each end of a history, on a GPU in 32 bits of a block's memory.
ARRIVAL = "arrival"
END = "end"
# Maps of the whole run, not by batch: added to directly; those of the screen only if there is one.
MAP = "map"
SCREEN_MAP = "map of the screen"
# Nobody: they follow from others.
DERIVED = "derived"
_ROW_ORDER = [OWN, LANDING, ARRIVAL, END, DERIVED]

# 0 for what arrives at the panel, 1 for what of it goes on through the stop. In a batch row an
# arrival is counted once, under 1 if it goes on and else under 0: see `all_arrivals`.
LIGHT = named("light", "incident collected")
CELL_Y = Axis("cell_y", "mm", CELLS, reach="half_height")
CELL_X = Axis("cell_x", "mm", CELLS, reach="half_width")
PROFILE_X = Axis("profile_x_mm", "mm", PROFILE_BINS, reach="half_width")
PROFILE_Y = Axis("profile_y_mm", "mm", PROFILE_BINS, reach="half_height")
POLAR = Axis("polar_deg", "deg", POLAR_BINS, (0.0, 90.0))
PLANE = Axis("plane_deg", "deg", PLANE_BINS, (-90.0, 90.0))
Y, X = Axis("y_mm", "mm", 0, reach="half_height"), Axis("x_mm", "mm", 0, reach="half_width")
V, U = Axis("v", "1", DIRECTION_BINS), Axis("u", "1", DIRECTION_BINS)
PUPIL_Y = Axis("pupil_y_mm", "mm", PUPIL_BINS, reach="stop_radius")
PUPIL_X = Axis("pupil_x_mm", "mm", PUPIL_BINS, reach="stop_radius")
STOP_Y = Axis("stop_y_mm", "mm", STOP_BINS, reach="stop_radius")
STOP_X = Axis("stop_x_mm", "mm", STOP_BINS, reach="stop_radius")
SPOT_Y = Axis("spot_y", "1", SPOT_BINS, (-SPOT_BINS / 2, SPOT_BINS / 2))
SPOT_X = Axis("spot_x", "1", SPOT_BINS, (-SPOT_BINS / 2, SPOT_BINS / 2))
# Sums of direction cosines times 2**20; of lengths in mm (and their squares) times 2**20.
DIRECTION_SUM = named("direction_sum", "u v uu vv", counts="")
PANEL_SUM = named(
    "panel_sum", "incident collected sum_u sum_v sum_uu sum_vv", counts="incident collected"
)
# Landing relative to the chief ray, on the panel's scale in mm: offsets d and slopes e (times the
# throw, so that e is the offset gained when the screen moves by its own distance).
SCREEN_SUM = named(
    "screen_sum",
    "photons stray dx dy dxx dyy dxy ex ey ee de",
    "1, mm * 2**20 or mm^2 * 2**20",
    counts="photons stray",
)
COLOUR = named("colour", "blue green red")
COLOUR_SUM = named("colour_sum", "photons dx dy", "1, mm * 2**20", counts="photons")
# Rings of one width about the middle of the stop, by their outer radius: what a smaller stop would
# leave.
RING = Axis("ring", "1", RINGS, values=tuple((k + 1) / RINGS for k in range(RINGS)))
LENGTHS = "1, mm or mm^2, * 2**20"
RING_SUM = named("ring_sum", "photons dx dy dd stray", LENGTHS, counts="photons stray")
# Odd: photons of odd blocks of the emission's net.
STOP_SUM = named("stop_sum", "photons dx dy dd odd", LENGTHS, counts="photons odd")
# Squares around the chief ray, every one half as wide as that before; light counts in the smallest
# that holds it.
EMISSION_CELL = Axis("emission_cell", "1", EMISSION_CELLS, values=tuple(range(EMISSION_CELLS)))
SPOT_LEVEL = Axis("spot_level", "1", SPOT_LEVELS, values=tuple(0.5**k for k in range(SPOT_LEVELS)))
FATE = Axis("fate", "", 0)

_BATCH = (
    Tally("direction_sums", (DIRECTION_SUM,), OWN, "sums of u, v, u², v² of arrivals, times 2²⁰"),
    Tally("events", (), OWN, "surfaces met"),
    Tally(
        "screen",
        (SCREEN_SUM, CELL_Y, CELL_X),
        LANDING,
        "with a screen: photons near their place and stray ones, sums of offsets d, slopes e and "
        "their products, on the panel's scale",
    ),
    Tally(
        "colours",
        (COLOUR, COLOUR_SUM, CELL_Y, CELL_X),
        LANDING,
        "photons and sums of offsets below 490 nm, below 590 nm and above",
    ),
    Tally(
        "rings",
        (RING, RING_SUM, CELL_Y, CELL_X),
        LANDING,
        "photons near their place, sums of offsets, and stray photons, by eight rings of one width "
        "about the stop's middle",
    ),
    Tally(
        "cells",
        (LIGHT, CELL_Y, CELL_X),
        ARRIVAL,
        "the panel in 9 × 9 cells; light 0 arriving, 1 collected",
        "lights",
    ),
    Tally("squares", (LIGHT, CELL_Y, CELL_X), ARRIVAL, "sums of the squared weights in the cells"),
    Tally("profile_x", (LIGHT, PROFILE_X), ARRIVAL, "128 bins across the active area", "lights"),
    Tally("profile_y", (LIGHT, PROFILE_Y), ARRIVAL, "the same upwards", "lights"),
    Tally("polar", (LIGHT, POLAR), ARRIVAL, "angle from the axis in whole degrees", "lights"),
    Tally("plane_x", (LIGHT, PLANE), ARRIVAL, "2° bins of the angle in a plane, within 5° of it"),
    Tally("plane_y", (LIGHT, PLANE), ARRIVAL, "the same in the plane of y and the axis"),
    Tally("fates", (FATE,), END, "photons by fate; the rows sum to `batches/photons`"),
    Tally("incident", (), DERIVED, "arrivals at the pixels"),
    Tally("collected", (), DERIVED, "those of them that go through the stop"),
)
BATCH_TALLIES = tuple(tally._replace(place=f"batches/{tally.name}") for tally in _BATCH)
MAP_TALLIES = (
    Tally("panel", (Y, X, PANEL_SUM), MAP, "by pixel; row 0 is the lowest y", "lights", "panel/{}"),
    Tally(
        "directions",
        (V, U),
        MAP,
        "arrivals by direction cosines",
        "incident",
        "angles/directions",
    ),
    Tally(
        "pupil",
        (PUPIL_Y, PUPIL_X),
        MAP,
        "collected light over the stop's hole",
        "collected",
        "pupil/photons",
    ),
    Tally(
        "emission",
        (EMISSION_CELL,),
        MAP,
        "collected light by the cell of directions that it was emitted into, ring by ring",
        "collected",
        "emission/photons",
    ),
    Tally(
        "spots",
        (CELL_Y, CELL_X, SPOT_LEVEL, SPOT_Y, SPOT_X),
        SCREEN_MAP,
        "light around the chief ray, in the smallest of five squares that holds it, each half as "
        "wide as the one before; `run.landing` has half the side of each largest",
        place="screen/spots",
    ),
    Tally(
        "stop_sums",
        (CELL_Y, CELL_X, STOP_Y, STOP_X, STOP_SUM),
        SCREEN_MAP,
        "photons and offsets by place in the stop; photons of odd blocks of histories",
        place="screen/stop_sums",
    ),
)
TALLIES = BATCH_TALLIES + MAP_TALLIES


class Maps(NamedTuple):
    """The maps of a run as the kernel adds to them, int64; their shapes are those of the table."""

    panel: Any
    directions: Any
    pupil: Any
    emission: Any
    spots: Any
    stop_sums: Any


if Maps._fields != tuple(tally.name for tally in MAP_TALLIES):
    raise TypeError("Maps has a field for each map of TALLIES, in their order")

# The first column of each tally of a batch row; fates come last, as many as a program has.
COLUMN: dict[str, int] = {}
ROW_FATES = 0
for _tally in BATCH_TALLIES:
    if _tally.by != DERIVED:
        COLUMN[_tally.name] = ROW_FATES
        ROW_FATES += prod(_tally.shape)
OWN_COLUMNS = sum(prod(tally.shape) for tally in TALLIES if tally.by == OWN)
FIRST_ARRIVAL = min(COLUMN[tally.name] for tally in TALLIES if tally.by == ARRIVAL)
if sorted(BATCH_TALLIES, key=lambda tally: _ROW_ORDER.index(tally.by)) != list(BATCH_TALLIES):
    raise TypeError("tallies of a batch row stand in the order of who adds to them")


def map_shapes(panel: tuple[int, int], has_screen: bool) -> Maps:
    """Return the shapes of the maps; those of the screen are empty where there is none."""
    shapes = []
    for tally in MAP_TALLIES:
        shape = (*panel, *tally.shape[2:]) if tally.axes[:2] == (Y, X) else tally.shape
        if tally.by == SCREEN_MAP and not has_screen:
            shape = (0, 0, *shape[2:])
        shapes.append(shape)
    return Maps._make(shapes)
