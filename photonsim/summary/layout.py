"""The layout of a scene as a table: every part by its height, with what matters about it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from photonsim.scene import (
    ClearPlate,
    Diffuser,
    Emitter,
    FresnelLens,
    Housing,
    IdealLens,
    LightPlate,
    Panel,
    PrismFilm,
    RealLens,
    Scene,
)
from photonsim.scene.glass import GlassPart
from photonsim.scene.polariser import Polariser
from photonsim.scene.sheet import ClearSheet, Sheet
from photonsim.scene.stands import stands_of
from photonsim.words.text import LINE, aligned, number, paragraph, percent

HEADINGS = ("z / mm", "part", "what", "size / mm", "key figures")

Row = tuple[str, str, str, str, str]


def layout_table(scene: Scene) -> str:
    """A table of the parts in order along z, from the base to the stop."""
    rows: list[tuple[float, Row]] = [
        (stand.z_mm, _emitter_row(name, scene.emitters[name], stand.z_mm))
        for name, stand in stands_of(scene).items()
    ]
    rows += [(part.z_mm, _part_row(scene, name, part)) for name, part in scene.train.items()]
    rows.append((scene.housing.depth_mm, _rim_row(scene.housing)))
    ordered = sorted(rows, key=lambda row: row[0])
    return _aligned([HEADINGS, _base_row(scene.housing), *(row for _, row in ordered)])


def _aligned(rows: Sequence[Sequence[str]]) -> str:
    """Columns in line; the last one is wrapped to a line, if the others leave it 20 characters."""
    table = aligned([row[:-1] for row in rows], left=range(1, len(rows[0]))).splitlines()
    indent = max(map(len, table)) + 4
    lines = []
    for line, row in zip(table, rows, strict=True):
        start = f"  {line}".ljust(indent)
        # An empty last cell leaves nothing to wrap.
        wrapped = paragraph(row[-1], start, " " * indent, max(LINE, indent + 20))
        lines.append((wrapped or start).rstrip())
    return "\n".join(lines)


def _size(size: tuple[float, float]) -> str:
    return f"{number(size[0], 4)} × {number(size[1], 4)}"


def _mirror_words(surface: Any) -> str:
    words = f"reflects {percent(surface.reflectance)}"
    if surface.specular_share:
        words += f", {percent(surface.specular_share)} of it like a mirror"
    return words


def _base_row(housing: Housing) -> Row:
    size = _size((housing.width_mm, housing.height_mm))
    return "0", "base", "base", size, _mirror_words(housing.base)


def _rim_row(housing: Housing) -> Row:
    size = _size(housing.opening_mm(housing.depth_mm))
    words = "open sides"
    if housing.walls and housing.wall_range_mm:
        low, high = housing.wall_range_mm
        words = f"{_mirror_words(housing.walls)}, z = {number(low, 4)} to {number(high, 4)} mm"
        if housing.walls.taper_deg:
            words += f", taper {housing.walls.taper_deg:g}°"
    return number(housing.depth_mm, 5), "walls", "housing ends", size, words


def _emitter_row(name: str, group: Emitter, z_mm: float) -> Row:
    size = f"ø {number(group.size_mm[0], 4)}" if group.shape == "disc" else _size(group.size_mm)
    if group.intensity is not None:
        beam = "measured lobe"
    elif math.isclose(group.exponent, 1.0, abs_tol=1.0e-6):
        beam = "Lambertian"
    else:
        beam = f"cos^{number(group.exponent)}"
    what = f"{group.columns} × {group.rows} emitters" if group.count > 1 else "emitter"
    words = f"{number(group.flux_lm, 4)} lm{' each' * (group.count > 1)}, {beam}"
    if group.edge is not None:
        how = "in contact" if group.coupling == "contact" else "through air"
        words += f", into the edge {group.edge} {how}"
    if pitches := group.pitches_mm.values():
        words += f", pitch {' × '.join(number(pitch, 4) for pitch in pitches)} mm"
    return number(z_mm, 5), name, what, size, words


def _part_row(scene: Scene, name: str, part: Any) -> Row:
    size = scene.part_size_mm(name)
    shown = f"ø {number(size[0], 4)}" if len(set(part.outline_keys)) == 1 else _size(size)
    words = _key_figures(part)
    if isinstance(part, Sheet) and part.strips:
        axis = 0 if part.strips.across == "x" else 1
        spans = part.strips.intervals_mm(-0.5 * size[axis], 0.5 * size[axis])
        covered = sum(high - low for low, high in spans) / size[axis]
        count = "1 strip" if len(spans) == 1 else f"{len(spans)} strips"
        words += f", {count} across {part.strips.across} cover {100 * covered:.0f} %"
    return number(part.z_mm, 5), name, part.words, shown, words


def _key_figures(part: Any) -> str:
    """The figures that matter about a part, or those that a scene gives of a kind unknown here."""
    match part:
        case Diffuser():
            return _diffuser_words(part)
        case PrismFilm():
            facing = "screen" if part.ridges == "to_screen" else "lamp"
            along = f"along {part.along_deg:g}°"
            stuff = _stuff(part) + (f" on n = {part.base_index:g}" if part.base_index else "")
            matt = ", flat side matt" if part.back else ""
            return f"{part.apex_deg:g}° ridges to the {facing}, {stuff}, {along}{matt}"
        case ClearPlate():
            return f"{number(part.thickness_mm)} mm thick, {_stuff(part)}"
        case LightPlate():
            behind = part.reflector
            words = f"{number(part.thickness_mm)} mm thick, {_stuff(part)}, {part.dots_in_words}, "
            words += f"{part.edges} edges, "
            return words + (
                f"reflector {percent(behind.reflectance)}" if behind else "no reflector"
            )
        case Panel():
            picture = _size((part.active_width_mm, part.active_height_mm))
            pixels = f"{part.columns} × {part.rows} pixels"
            words = f"picture {picture} mm, {pixels}, passes {percent(part.transmittance)}"
            axis = part.polariser_deg
            return words if axis is None else f"{words}, polariser at {axis:g}°"
        case Polariser():
            passes = f"passes {percent(part.pass_transmittance)} along {part.pass_deg:g}°, "
            passes += f"{percent(part.block_transmittance)} across it"
            back = part.block_reflectance
            return passes + f", returns {percent(back)} of that" * (back > 0.0)
        case IdealLens():
            focal, speed = (
                number(part.focal_mm, 4),
                number(abs(part.focal_mm) / part.diameter_mm, 2),
            )
            return f"f = {focal} mm, f/{speed}, passes {percent(part.transmittance)}"
        case RealLens():
            radii = " and ".join(
                "flat" if radius is None else f"R {number(radius, 4)} mm"
                for radius in (part.radius_lamp_mm, part.radius_screen_mm)
            )
            return f"{radii}, {number(part.thickness_mm)} mm thick, {_stuff(part)}"
        case FresnelLens():
            side = "screen" if part.grooves == "to_screen" else "lamp"
            return f"f = {number(part.focal_mm, 4)} mm, grooves to the {side}, {_stuff(part)}"
    shown = part.model_fields_set - {"kind", "z_mm", "strips", *part.outline_keys}
    return ", ".join(f"{key} = {getattr(part, key)}" for key in sorted(shown))


def _diffuser_words(part: Diffuser) -> str:
    words = f"passes {percent(part.transmittance)}, returns {percent(part.reflectance)}"
    if part.opal:
        return f"{words}, opal"
    if part.haze is not None:
        words += f", haze {percent(part.haze)}"
    if part.half_angle_deg is not None:
        words += f", half angle {number(part.half_angle_deg)}°"
    return words


def _stuff(part: ClearSheet | GlassPart) -> str:
    return part.material.replace("_", " ") if part.material else f"n = {part.index:g}"
