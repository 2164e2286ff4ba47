"""Where the useful light leaves the emitters: what share is collected, by direction."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from photonsim.arrays import Counts, Reals
from photonsim.figures.layout import give_title, new_figure, settle
from photonsim.figures.style import BLACK, COLLECTED, COLOUR_MAP, PRINT, Look, plain_style
from photonsim.results import Result, smoothed
from photonsim.results.panel import weights
from photonsim.scene.stands import on_board

ANGLES_DEG = (15, 30, 45, 60, 75)
# The disc's radius, of the width, and how far a ring's label reaches, in inches.
DISC, LABEL_IN = 0.14, 0.19
# With fewer effective photons a lit cell, each cell is shown with its eight neighbours.
FEWEST_OF_A_CELL = 100
PIXELS = 512
# Of the width.
HEIGHT = 0.5


def directions_counted(result: Result) -> bool:
    """Tell whether light was counted by cells of one lobe, in which a ring is an angle.

    A measured lobe has no such cells, and in lobes of different powers a ring is no one angle.
    """
    lobes = {(e.exponent, e.lm63_text is None) for e in result.scene.emitters.values()}
    counted = bool(result.tallies.emission.any())
    return counted and len(lobes) == 1 and all(smooth for _, smooth in lobes)


@plain_style()
def draw_emission(result: Result, look: Look = PRINT) -> Figure:
    """Return the disc of directions, in cells that send out equal light, and the mean by angle.

    The squared radius is the share of the light that leaves within the angle: of a Lambertian
    emitter the radius is the sine.
    """
    counts = result.tallies.emission
    effective = counts.sum() / weights.of_all(result.tallies, 1)
    alone = effective >= FEWEST_OF_A_CELL * np.count_nonzero(counts)
    light = counts if alone else smoothed(counts) / 9.0
    shares = 100.0 * light * len(light) / result.emitted
    figure = new_figure(look.width_in, look.width_in * HEIGHT)
    disc, curve = figure.subplots(1, 2, width_ratios=(1.0, 0.9))
    power = next(iter(result.scene.emitters.values())).exponent
    _draw_disc(disc, shares, power, LABEL_IN / (DISC * look.width_in))
    if on_board(result.scene):
        disc.set(xlabel="towards +x", ylabel="towards +y")
    else:
        disc.set(xlabel="along the plate's edge", ylabel="towards the screen")
    _draw_rings(curve, shares, power)
    half = np.sort(counts)[::-1].cumsum().searchsorted(0.5 * counts.sum()) + 1
    disc.set_title(
        "share of each cell's light\nthat is collected"
        + ("" if alone else ", with its\neight neighbours' light")
    )
    curve.set_title(
        f"half of the collected light leaves in\n{100.0 * half / len(counts):.2g} % of the "
        "emitted light"
    )
    give_title(figure, result, "Where the useful light leaves the emitters", look)
    return settle(figure)


def radius_of(angle_deg: float | Reals, power: float) -> Reals:
    """Return the radius (0 to 1) of an angle from the axis, for a lobe cos**power.

    The flux beyond an angle t is cos(t)**(power + 1).
    """
    return np.sqrt(1.0 - np.cos(np.radians(angle_deg)) ** (power + 1.0))


def rings_of(cells: int) -> int:
    """Return how many rings so many cells make, the k-th from 0 cut into 4 (2 k + 1)."""
    return math.isqrt(cells // 4)


def cells_at(x: Reals, y: Reals, rings: int) -> Counts:
    """Return which cell of the rings holds each place of the disc: see kernel.guide."""
    radius, turn = np.hypot(x, y), np.arctan2(y, x) / (2.0 * np.pi) % 1.0
    ring = np.minimum(radius * rings, rings - 1).astype(int)
    sectors = 4 * (2 * ring + 1)
    return 4 * ring * ring + np.minimum((turn * sectors).astype(int), sectors - 1)


def _draw_disc(axes: Axes, shares: Reals, power: float, label: float) -> None:
    """Draw the disc, `label` of whose radius a ring's label takes: towards the rim rings crowd."""
    places = (np.arange(PIXELS) + 0.5) / PIXELS * 2.0 - 1.0
    x, y = np.meshgrid(places, places)
    seen = np.ma.masked_where(np.hypot(x, y) > 1.0, shares[cells_at(x, y, rings_of(len(shares)))])
    drawn = axes.imshow(
        seen, origin="lower", extent=(-1, 1, -1, 1), cmap=COLOUR_MAP, vmin=0.0,
        interpolation="nearest",
    )  # fmt: skip
    named = 0.0
    for angle in ANGLES_DEG:
        radius = float(radius_of(angle, power))
        axes.add_patch(Circle((0.0, 0.0), radius, fill=False, color="white", linewidth=0.5))
        if radius - named < label:
            continue
        named = radius
        at = radius / math.sqrt(2.0)
        axes.annotate(
            f"{angle}°", (at, at), color="white", fontsize=6.0, ha="center", va="center",
            bbox={"boxstyle": "round,pad=0.1", "fc": BLACK, "ec": "none", "alpha": 0.6},
        )  # fmt: skip
    axes.add_patch(Circle((0.0, 0.0), 1.0, fill=False, color=BLACK, linewidth=0.7))
    axes.set(xticks=[], yticks=[])
    for side in axes.spines.values():
        side.set_visible(False)
    bar = axes.figure.colorbar(drawn, ax=axes, location="bottom", shrink=0.8, aspect=30)
    bar.set_label("collected of the light emitted there (%)")


def _draw_rings(axes: Axes, shares: Reals, power: float) -> None:
    """Draw the mean of each ring against its angle."""
    rings = rings_of(len(shares))
    starts = 4 * np.arange(rings) ** 2
    means = np.add.reduceat(shares, starts) / np.diff(starts, append=len(shares))
    inside = (np.arange(rings + 1) / rings) ** 2
    edges = np.degrees(np.arccos((1.0 - inside) ** (1.0 / (power + 1.0))))
    axes.stairs(means, edges, color=COLLECTED, linewidth=1.1)
    axes.set(xlabel="angle from the emitter's axis (°)", ylabel="collected (%)")
    axes.set(xlim=(0.0, 90.0), ylim=(0.0, None), xticks=range(0, 91, 15))
    axes.grid(True)
