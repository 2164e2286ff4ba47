"""Whole scenes through the kernel, for the checks in this folder."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.engine.rows import every_arrival, unpack
from photonsim.engine.workers import Worker
from photonsim.kernel import codes
from photonsim.kernel.tallies import MAP_TALLIES, ROW_FATES
from photonsim.program import Compiled
from photonsim.program.program import Program
from photonsim.scene import parse_scene

FEWEST_BATCHES = 32


class Traced(NamedTuple):
    """What became of the photons of a scene."""

    photons: int
    batches: dict[str, NDArray[np.int64]]  # by name, as in a result
    panel_sums: NDArray[np.int64]  # [rows, columns, sums]
    directions: NDArray[np.int64]
    pupil: NDArray[np.int64]
    lost: list[int]
    fates: dict[str, int]  # by the name a person reads

    @property
    def incident(self) -> NDArray[np.int64]:
        """Photons that met each pixel, [rows, columns]."""
        return self.panel_sums[:, :, codes.INCIDENT]

    @property
    def through_stop(self) -> int:
        """Photons that ended in the stop's hole."""
        return self.fates["through the stop"]

    @property
    def back_on_floor(self) -> int:
        """Photons absorbed by the base or by the emitters' faces on it."""
        return self.fates["absorbed by base"] + self.fates["absorbed by source"]

    @property
    def polar(self) -> NDArray[np.int64]:
        """Photons that met the panel, by whole degrees from the axis, [90]."""
        return self.batches["polar"][:, 0].sum(axis=0)


def trace(
    text: str,
    photons: int,
    seed: int = 1,
    *,
    polarised: bool = False,
    as_if: Callable[[Program], Program] | None = None,
) -> Traced:
    """Trace a scene given as TOML; `photons` is rounded down to whole batches of a power of two.

    Light that is `polarised` keeps its state, even where no part of the scene asks for it; `as_if`
    changes the program in a way that no scene asks for.
    """
    compiled = Compiled(parse_scene(text))
    if as_if is not None:
        compiled.program = as_if(compiled.program)
    if polarised:
        traits = compiled.program.traits | codes.POLARISED
        compiled.program = compiled.program._replace(traits=traits)
    shift = (photons // FEWEST_BATCHES).bit_length() - 1
    batches = photons >> shift
    worker = Worker(compiled, seed)
    rows = np.zeros((batches, compiled.row_width), dtype=np.int64)
    worker.trace(0, batches << shift, shift, rows)
    panel, directions, pupil, *_ = worker.maps
    every_arrival(MAP_TALLIES[0], panel)
    totals = rows.sum(axis=0)
    fates = {fate.name: int(totals[ROW_FATES + fate.code]) for fate in compiled.fates}
    named = unpack(rows, compiled.fate_codes)
    return Traced(batches << shift, named, panel, directions, pupil, worker.lost, fates)


def box(
    width: float, depth: float, *, base: float = 0.0, walls: str = "", height: float = 0
) -> str:
    """Return the TOML of a housing with a Lambertian base of reflectance `base`.

    `walls` is an inline table; without one the sides are open. Square unless a height is given.
    """
    side = f"walls = {{ {walls} }}\n" if walls else ""
    return (
        f"[housing]\nwidth_mm = {width}\nheight_mm = {height or width}\ndepth_mm = {depth}\n"
        f"base = {{ reflectance = {base} }}\n{side}"
    )


def emitter(shape: str = "width_mm = 1e-3\nheight_mm = 1e-3", **more: float) -> str:
    """Return the TOML of black emitters: by default one, a point for all that it matters."""
    settings = {"flux_lm": 1.0, "reflectance": 0.0} | more
    lines = "\n".join(f"{key} = {value}" for key, value in settings.items())
    name = "disc" if "diameter" in shape else "rectangle"
    return f'[emitters.source]\nshape = "{name}"\n{shape}\n{lines}\n'


def target(
    z: float,
    width: float,
    height: float = 0,
    *,
    columns: int = 9,
    rows: int = 9,
    outer: float = 0,
    outer_height: float = 0,
    frame: float = 0.0,
) -> str:
    """Return the TOML of a panel that only counts what reaches it; square unless told otherwise."""
    height = height or width
    outer = outer or width
    outer_height = outer_height or outer * height / width
    return (
        f'[train.target]\nkind = "panel"\nz_mm = {z}\ncolumns = {columns}\nrows = {rows}\n'
        f"active_width_mm = {width}\nactive_height_mm = {height}\n"
        f"outer_width_mm = {outer}\nouter_height_mm = {outer_height}\n"
        f"frame_reflectance = {frame}\nthickness_mm = 0.0\n"
    )


def stop(z: float, diameter: float) -> str:
    """Return the TOML of an aperture stop."""
    return f'[train.stop]\nkind = "aperture_stop"\nz_mm = {z}\ndiameter_mm = {diameter}\n'
