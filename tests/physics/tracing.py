"""Whole scenes through the kernel, for the checks in this folder."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from photonsim.kernel import codes
from photonsim.kernel.tally import trace_range
from photonsim.program import Program, build_program, fates_of
from photonsim.program.layers import layers_of
from photonsim.scene import Scene, parse_scene

FEWEST_BATCHES = 32


class Traced(NamedTuple):
    """What became of the photons of a scene."""

    photons: int
    rows: NDArray[np.int64]  # [batches, row length]
    panel_sums: NDArray[np.int64]  # [rows, columns, PANEL_SUMS]
    directions: NDArray[np.int64]
    pupil: NDArray[np.int64]
    lost: NDArray[np.int64]
    spots: NDArray[np.int64]
    stop_sums: NDArray[np.int64]
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
        start = codes.ROW_POLAR
        return self.rows[:, start : start + codes.POLAR_BINS].sum(axis=0)


def trace(text: str, photons: int, seed: int = 1) -> Traced:
    """Trace a scene given as TOML; `photons` is rounded down to whole batches of a power of two."""
    scene = parse_scene(text)
    program = build_program(scene)
    shift = (photons // FEWEST_BATCHES).bit_length() - 1
    batches = photons >> shift
    tallies = empty_tallies(scene, program, batches)
    trace_range(
        program, np.uint64(seed), np.uint64(0), batches << shift, np.uint64(shift), *tallies
    )
    totals = tallies[0].sum(axis=0)
    fates = {
        fate.name: int(totals[codes.ROW_FATES + fate.code]) for fate in fates_of(layers_of(scene))
    }
    return Traced(batches << shift, *tallies, fates)


def empty_tallies(scene: Scene, program: Program, batches: int) -> tuple[Any, ...]:
    """Return (rows, panel_sums, ..., stop_sums) of zeros as trace_range takes them."""
    fates = codes.FATE_LAYERS + codes.FATES_PER_LAYER * len(program.layer_kind)
    shapes = (
        (batches, codes.ROW_FATES + fates),
        (scene.panel.rows, scene.panel.columns, codes.PANEL_SUMS),
        (codes.DIRECTION_BINS, codes.DIRECTION_BINS),
        (codes.PUPIL_BINS, codes.PUPIL_BINS),
        (11,),
        (0, 0, codes.SPOT_LEVELS, codes.SPOT_BINS, codes.SPOT_BINS),
        (0, 0, codes.STOP_BINS, codes.STOP_BINS, codes.STOP_SUMS),
    )
    return tuple(np.zeros(shape, dtype=np.int64) for shape in shapes)


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
