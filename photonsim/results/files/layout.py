"""How a result lies in its file: every tally of kernel.tallies, its axes as dimension scales.

Version 2, of photonsim 0.4.0, had no guide of the emission, so that all weights are 1, and no light
by cell of emission. Version 1, of photonsim 0.3.0, also had no rings of the stop, one square about
each chief ray instead of five, in bins twice as wide, and no photons of odd blocks. In a result of
these the axes are so much shorter, also when it is saved anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from photonsim.kernel.allotment import Guide
from photonsim.kernel.tallies import (
    BATCH_TALLIES,
    MAP_TALLIES,
    SCREEN_MAP,
    TALLIES,
    map_shapes,
)
from photonsim.results.tallies import Tallies
from photonsim.results.traced import Traced
from photonsim.scene import Scene

FORMAT_VERSION = 3
# The lengths of axes that were shorter, by the version of the file.
COUNTED: dict[int, dict[str, int]] = {
    1: {"emission_cell": 0, "ring": 0, "spot_level": 1, "spot_y": 32, "spot_x": 32, "stop_sum": 4},
    2: {"emission_cell": 0},
    3: {},
}
Read = Callable[[str, tuple[int, ...]], Any]


def axes_of(result: Traced) -> dict[str, tuple[Any, str]]:
    """Return every axis: values and unit. Bins are given by their centres."""
    panel = result.scene.panel
    pixels = {"x_mm": panel.columns, "y_mm": panel.rows}
    reach = {
        "": 1.0,
        "half_width": 0.5 * panel.active_width_mm,
        "half_height": 0.5 * panel.active_height_mm,
        "stop_radius": 0.5 * result.scene.stop.diameter_mm,
    }
    axes: dict[str, tuple[Any, str]] = {
        "batch": (np.arange(len(result.tallies.batches["incident"])), "1"),
        "fate": (np.array([name.encode() for name, _ in result.fate_names]), ""),
    }
    counted = COUNTED[result.tallies.counts_version]
    # The sums of a tally may be told apart by the path.
    kept = (tally.axes[:-1] if "{}" in tally.place else tally.axes for tally in TALLIES)
    for axis in dict.fromkeys(axis for each in kept for axis in each):
        if axis.name in axes:
            continue
        count = counted.get(axis.name, axis.bins or pixels[axis.name])
        if axis.words:
            values = np.array([word.encode() for word in axis.words[:count]])
        elif axis.values:
            values = np.array(axis.values[:count])
        else:
            low, high = axis.edges
            centres = low + (np.arange(count) + 0.5) * (high - low) / count
            values = centres * reach[axis.reach]
        axes[axis.name] = values, axis.unit
    return axes


def datasets_of(tallies: Tallies) -> Iterator[tuple[str, Any, tuple[str, ...], str]]:
    """Yield (path, array, names of its axes, unit) of all that is stored of a result.

    What belongs to a screen only if there is one.
    """
    for tally in BATCH_TALLIES:
        names = ("batch", *(axis.name for axis in tally.axes))
        yield tally.place, tallies.batches[tally.name], names, "photons"
    for tally in MAP_TALLIES:
        array = getattr(tallies, tally.name)
        if tally.by == SCREEN_MAP and not array.size:
            continue
        names = tuple(axis.name for axis in tally.axes)
        if "{}" not in tally.place:
            yield tally.place, array, names, "photons"
            continue
        for k, word in enumerate(tally.axes[-1].words):
            unit = "photons" if k in tally.axes[-1].counts else "photons * 2**20"
            yield tally.place.format(word), array[..., k], names[:-1], unit


def as_in(version: int, read: Read) -> Read:
    """Return a reader of files of a version.

    The first two have no squared weights: all are 1. The first has no rings, and no axis of squares
    in its spots.
    """

    def read_older(place: str, shape: tuple[int, ...]) -> Any:
        if version < 3 and place == "batches/squares":
            return read("batches/cells", shape)
        if version < 2 and place == "batches/rings":
            return np.zeros(shape, dtype=np.int64)
        if version < 2 and place == "screen/spots":
            return read(place, (*shape[:2], *shape[3:])).reshape(shape)
        return read(place, shape)

    return read_older


def tallies_from(
    read: Read,
    counts_version: int,
    scene: Scene,
    fates: int,
    photons: int,
    batch_photons: int,
    lost: list[int],
    guide: Guide | None,
) -> Tallies:
    """Return tallies from what `read` gives by path, of the shape that it is asked for."""
    batches = -(-photons // batch_photons)
    counted = COUNTED[counts_version]
    by_batch = {
        tally.name: read(
            tally.place,
            (batches, *(counted.get(axis.name, axis.bins or fates) for axis in tally.axes)),
        )
        for tally in BATCH_TALLIES
    }
    shapes = map_shapes((scene.panel.rows, scene.panel.columns), scene.screen is not None)
    maps = []
    for tally, whole in zip(MAP_TALLIES, shapes, strict=True):
        shape = tuple(
            counted.get(axis.name, length) for axis, length in zip(tally.axes, whole, strict=True)
        )
        if 0 in shape:
            maps.append(np.zeros(shape, dtype=np.int64))
        elif "{}" in tally.place:
            sums = [read(tally.place.format(word), shape[:-1]) for word in tally.axes[-1].words]
            maps.append(np.stack(sums, axis=-1))
        else:
            maps.append(read(tally.place, shape))
    named = dict(zip(shapes._fields, maps, strict=True))
    return Tallies(photons, batch_photons, by_batch, **named, lost=lost, guide=guide)
