"""Where the useful light leaves the emitters: what share is collected, by direction."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from photonsim.arrays import Counts, Reals
from photonsim.figures.layout import give_title, new_figure, settle, small_print_in
from photonsim.figures.style import BLACK, COLLECTED, COLOUR_MAP, PRINT, Look, plain_style
from photonsim.results import SECTORS, Result, smoothed
from photonsim.scene.stands import on_board

CIRCLES_DEG = 15
# With fewer effective photons a lit cell, each cell is shown with its eight neighbours.
FEWEST_OF_A_CELL = 100
PIXELS = 512
# The disc must be as tall as the words beside it are long.
LEAST_IN = 2.8


def directions_counted(result: Result) -> bool:
    """Tell whether light was counted by cells of one lobe, in which a ring is an angle.

    A measured lobe has no such cells, and in lobes of different powers a ring is no one angle.
    """
    powers = {e.exponent if e.lm63_text is None else None for e in result.scene.emitters.values()}
    return bool(result.tallies.emission.any()) and len(powers) == 1 and None not in powers


@plain_style()
def draw_emission(result: Result, look: Look = PRINT) -> Figure:
    """Return the disc of directions, in cells that send out equal light, and the mean by angle.

    The squared radius is the share of the light that leaves within the angle: of a Lambertian
    emitter the radius is the sine.
    """
    counts = result.tallies.emission
    effective = result.samples.effective_photons(1)
    alone = effective >= FEWEST_OF_A_CELL * np.count_nonzero(counts)
    light = counts if alone else smoothed(counts) / 9.0
    shares = 100.0 * light * len(light) / result.emitted
    height = max(0.5 * look.width_in, LEAST_IN) + small_print_in(result, look)
    figure = new_figure(look.width_in, height)
    disc, curve = figure.subplots(1, 2, width_ratios=(1.0, 0.9))
    power = next(iter(result.scene.emitters.values())).exponent
    _draw_disc(disc, shares, power)
    sides = ("along the plate's edge", "towards the screen")
    across, up = ("towards +x", "towards +y") if on_board(result.scene) else sides
    disc.set(xlabel=f"{across}\n(a circle every {CIRCLES_DEG}°)", ylabel=up)
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


def cells_at(x: Reals, y: Reals) -> Counts:
    """Return which cell holds each place of the disc: see kernel.guide."""
    radius, turn = np.hypot(x, y), np.arctan2(y, x) / (2.0 * np.pi) % 1.0
    ring = np.minimum(radius * len(SECTORS), len(SECTORS) - 1).astype(int)
    return 4 * ring**2 + np.minimum((turn * SECTORS[ring]).astype(int), SECTORS[ring] - 1)


def _draw_disc(axes: Axes, shares: Reals, power: float) -> None:
    """Draw the disc, with circles at equal steps of the angle."""
    places = (np.arange(PIXELS) + 0.5) / PIXELS * 2.0 - 1.0
    x, y = np.meshgrid(places, places)
    seen = np.ma.masked_where(np.hypot(x, y) > 1.0, shares[cells_at(x, y)])
    drawn = axes.imshow(
        seen, origin="lower", extent=(-1, 1, -1, 1), cmap=COLOUR_MAP, vmin=0.0,
        interpolation="nearest",
    )  # fmt: skip
    for radius in radius_of(np.arange(CIRCLES_DEG, 90.0, CIRCLES_DEG), power):
        axes.add_patch(Circle((0.0, 0.0), radius, fill=False, color="white", linewidth=0.5))
    axes.add_patch(Circle((0.0, 0.0), 1.0, fill=False, color=BLACK, linewidth=0.7))
    axes.set(xticks=[], yticks=[])
    axes.spines[:].set_visible(False)
    bar = axes.figure.colorbar(drawn, ax=axes, location="bottom", shrink=0.8, aspect=30)
    bar.set_label("collected of the light emitted there (%)")


def _draw_rings(axes: Axes, shares: Reals, power: float) -> None:
    """Draw the mean of each ring against its angle."""
    ends = np.append(0, SECTORS.cumsum())
    means = np.add.reduceat(shares, ends[:-1]) / SECTORS
    edges = np.degrees(np.arccos((1.0 - ends / len(shares)) ** (1.0 / (power + 1.0))))
    axes.stairs(means, edges, color=COLLECTED, linewidth=1.1)
    axes.set(xlabel="angle from the emitter's axis (°)", ylabel="collected (%)")
    axes.set(xlim=(0.0, 90.0), ylim=(0.0, None), xticks=range(0, 91, 15))
    axes.grid(True)
