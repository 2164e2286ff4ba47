"""Random valid scenes, for property tests: every kind of part and what stands around it.

A scene is drawn as the plain values of its TOML. Sizes are drawn first and the rest to fit, so that
hardly any draw is thrown away; each figure may also take the ends of its range.
"""

from __future__ import annotations

import math
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st

from photonsim.scene import MATERIALS
from photonsim.scene.part import Part
from photonsim.scene.train import PART_CLASSES
from tests.ranges import is_part, ranges_of

Plain = dict[str, Any]


def reals(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers from low to high, both ends often."""
    return st.one_of(st.sampled_from([low, high]), st.floats(low, high))


SHARES = reals(0.0, 1.0)


@st.composite
def surfaces(draw: st.DrawFn) -> Plain:
    """An opaque face."""
    return {"reflectance": draw(SHARES), "specular_share": draw(SHARES)}


@st.composite
def strips(draw: st.DrawFn) -> Plain:
    """A cut through the middle of any sheet of 20 mm or more."""
    across = draw(st.sampled_from("xy"))
    if draw(st.booleans()):
        edges = sorted(draw(st.lists(st.floats(-9.0, 9.0), min_size=2, max_size=8, unique=True)))
        spans = [[-1.0, 1.0]]
        spans += [[a, b] for a, b in zip(edges[::2], edges[1::2], strict=False) if a > 1.0]
        return {"across": across, "covered_mm": spans}
    pitch = draw(st.floats(1.0, 30.0))
    return {
        "across": across,
        "pitch_mm": pitch,
        "width_mm": pitch * draw(st.floats(0.05, 0.95)),
        "offset_mm": draw(st.floats(-5.0, 5.0)) if pitch < 8.0 else 0.0,
    }


@st.composite
def _sheets(draw: st.DrawFn, plain: Plain) -> Plain:
    if draw(st.integers(0, 2)) == 0:
        plain["strips"] = draw(strips())
    plain["thickness_mm"] = draw(reals(0.0, 0.5))
    return plain


@st.composite
def _clear(draw: st.DrawFn, plain: Plain) -> Plain:
    if draw(st.booleans()):
        plain["material"] = draw(st.sampled_from(MATERIALS))
    else:
        plain["index"] = draw(reals(1.2, 2.5))
    plain["absorption_per_pass"] = draw(st.sampled_from([0.0, 0.01, 0.5, 0.999]))
    return draw(_sheets(plain))


@st.composite
def diffusers(draw: st.DrawFn) -> Plain:
    """A diffuser by haze, half angle, both, or opal."""
    transmittance = draw(reals(1e-6, 1.0))
    plain: Plain = {
        "kind": "diffuser",
        "transmittance": transmittance,
        "reflectance": draw(SHARES) * (1.0 - transmittance),
    }
    how = draw(st.integers(0, 3))
    if how == 0:
        plain["opal"] = True
    if how in (1, 3):
        # A lobe of 75 degrees has a haze of 0.998; with a half angle less haze than that is direct.
        plain["haze"] = draw(reals(0.0, 0.5 if how == 3 else 0.999999))
    if how in (2, 3):
        plain["half_angle_deg"] = draw(reals(5.0 if how == 3 else 0.5, 75.0))
    return draw(_sheets(plain))


@st.composite
def prism_films(draw: st.DrawFn) -> Plain:
    """A prism film of any apex, either way up, along any direction."""
    plain = {
        "kind": "prism_film",
        "apex_deg": draw(reals(40.0, 140.0)),
        "ridges": draw(st.sampled_from(["to_screen", "to_lamp"])),
        "along_deg": draw(st.one_of(st.sampled_from([0.0, 45.0, 90.0]), st.floats(-360.0, 360.0))),
        "flat_tip_share": draw(st.sampled_from([0.0, 0.05, 0.9])),
    }
    if draw(st.booleans()):
        plain["base_index"] = draw(reals(1.2, 2.5))
    how = draw(st.integers(0, 3))
    if how in (1, 3):
        plain["back_haze"] = draw(reals(0.0, 0.5 if how == 3 else 0.999999))
    if how in (2, 3):
        plain["back_half_angle_deg"] = draw(reals(5.0 if how == 3 else 0.5, 75.0))
    return draw(_clear(plain))


@st.composite
def clear_plates(draw: st.DrawFn) -> Plain:
    """A clear plate."""
    return draw(_clear({"kind": "clear_plate"}))


@st.composite
def polarisers(draw: st.DrawFn, kind: str) -> Plain:
    """A polariser of either kind, good or hardly one."""
    passed = draw(reals(1e-6, 1.0))
    blocked = passed * draw(SHARES)
    plain = {
        "kind": kind,
        "pass_deg": draw(st.one_of(st.sampled_from([0.0, 45.0, 90.0]), reals(-360.0, 360.0))),
        "pass_transmittance": passed,
        "block_transmittance": blocked,
        "index": draw(reals(1.2, 2.5)),
    }
    if kind == "reflective_polariser":
        plain["pass_reflectance"] = (1.0 - passed) * draw(SHARES)
        plain["block_reflectance"] = (1.0 - blocked) * draw(SHARES)
    return draw(_sheets(plain))


@st.composite
def light_plates(draw: st.DrawFn) -> Plain:
    """A light plate with any edges, dots and reflector; light may be held in it for long."""
    plain: Plain = {
        "kind": "light_plate",
        "thickness_mm": draw(reals(0.1, 8.0)),
        "absorption_per_mm": draw(st.sampled_from([0.0, 1e-4, 0.1, 100.0])),
        "dot_reflectance": draw(SHARES),
        "edges": draw(st.sampled_from(["bare", "mirrored", "white"])),
        "edge_reflectance": draw(SHARES),
    }
    if draw(st.booleans()):
        plain["reflector"] = draw(surfaces())
    shape = draw(st.integers(0, 3))
    if shape == 3:
        plain["dots"] = {"from_edge_mm": [0.0, 20.0, 45.0], "share": [0.0, draw(SHARES), 1.0]}
    elif shape:
        plain["dot_share"] = draw(SHARES)
        if shape == 2:
            plain["dot_drain_mm"] = draw(reals(1e-3, 100.0))
    return plain | draw(st.sampled_from([{"index": 1.49}, {"index": 2.5}, {"material": "acrylic"}]))


@st.composite
def panels(draw: st.DrawFn) -> Plain:
    """A panel of few pixels, with or without scatter and angle table."""
    width, height = draw(st.floats(5.0, 120.0)), draw(st.floats(5.0, 80.0))
    plain: Plain = {
        "kind": "panel",
        "columns": draw(st.integers(9, 60)),
        "rows": draw(st.integers(9, 40)),
        "active_width_mm": width,
        "active_height_mm": height,
        "outer_width_mm": width + draw(reals(0.0, 10.0)),
        "outer_height_mm": height + draw(reals(0.0, 10.0)),
        "transmittance": draw(reals(1e-6, 1.0)),
        "frame_reflectance": draw(SHARES),
        "thickness_mm": draw(reals(0.0, 0.5)),
    }
    if draw(st.booleans()):
        plain["haze"] = draw(reals(0.0, 0.99))
    if draw(st.booleans()):
        plain["polariser_deg"] = draw(reals(-360.0, 360.0))
    if draw(st.booleans()):
        plain["relative_transmittance"] = {
            "angle_deg": [0.0, 30.0, 60.0, 90.0],
            "relative": draw(st.lists(SHARES, min_size=4, max_size=4)),
        }
    return plain


@st.composite
def ideal_lenses(draw: st.DrawFn) -> Plain:
    """A lens, converging or diverging, for any conjugate."""
    focal = draw(st.one_of(reals(1.0, 1000.0), reals(-1000.0, -1.0)))
    plain = {
        "kind": "ideal_lens",
        "focal_mm": focal,
        "diameter_mm": draw(st.floats(5.0, 200.0)),
        "transmittance": draw(reals(1e-6, 1.0)),
    }
    if draw(st.booleans()):
        plain["object_mm"] = draw(st.one_of(st.just(abs(focal)), st.floats(5.0, 500.0)))
    return plain


def aperture_stops() -> st.SearchStrategy[Plain]:
    """The stop."""
    return st.builds(
        lambda diameter: {"kind": "aperture_stop", "diameter_mm": diameter}, reals(0.1, 300.0)
    )


@st.composite
def real_lenses(draw: st.DrawFn) -> Plain:
    """A small lens whose faces don't meet: 10 mm out an 80 mm radius sags by 0.6 mm."""
    plain: Plain = {"kind": "real_lens", "diameter_mm": 20.0, "thickness_mm": 2.5}
    for key in ("radius_lamp_mm", "radius_screen_mm"):
        if draw(st.booleans()):
            plain[key] = draw(st.sampled_from([-1.0, 1.0])) * draw(reals(80.0, 1000.0))
    if draw(st.booleans()):
        plain["coating_reflectance"] = draw(reals(0.0, 0.5))
    return plain | draw(st.sampled_from([{"index": 1.5}, {"material": MATERIALS[0]}]))


@st.composite
def fresnel_lenses(draw: st.DrawFn) -> Plain:
    """A Fresnel sheet of moderate speed, either way round, round or rectangular."""
    outline = draw(st.sampled_from([("diameter_mm",), ("width_mm", "height_mm")]))
    return {key: draw(reals(10.0, 50.0)) for key in outline} | {
        "kind": "fresnel_lens",
        "focal_mm": draw(st.sampled_from([-1.0, 1.0])) * draw(reals(60.0, 500.0)),
        "draft_deg": draw(reals(0.0, 45.0)),
        "groove_walls": draw(st.sampled_from(["clear", "black"])),
        "rounded_tip_share": draw(st.sampled_from([0.0, 0.05, 0.9])),
        "grooves": draw(st.sampled_from(["to_lamp", "to_screen"])),
        "index": 1.49,
    }


@st.composite
def anything_of(draw: st.DrawFn, part: type[Part]) -> Plain:
    """A part of any kind, by the ranges of its model alone."""
    plain: Plain = {}
    for key, (low, high, is_whole, is_required) in ranges_of(part).items():
        if is_required or draw(st.booleans()):
            plain[key] = draw(st.integers(int(low), int(high)) if is_whole else reals(low, high))
    assume(is_part(part, plain))
    return plain | {"kind": part.model_fields["kind"].default}


# What the ranges of a model alone do not say; a part of a new kind does without a line here.
PARTS: dict[str, st.SearchStrategy[Plain]] = {
    kind: anything_of(part) for kind, part in PART_CLASSES.items()
} | {
    "diffuser": diffusers(),
    "prism_film": prism_films(),
    "clear_plate": clear_plates(),
    "light_plate": light_plates(),
    "panel": panels(),
    "absorbing_polariser": polarisers("absorbing_polariser"),
    "reflective_polariser": polarisers("reflective_polariser"),
    "ideal_lens": ideal_lenses(),
    "real_lens": real_lenses(),
    "fresnel_lens": fresnel_lenses(),
    "aperture_stop": aperture_stops(),
}
ONCE = ("panel", "aperture_stop")


@st.composite
def emitters(draw: st.DrawFn, width: float, height: float, z_mm: float) -> Plain:
    """A group of emitters that fits within width x height about the axis."""
    columns, rows = draw(st.integers(1, 6)), draw(st.integers(1, 4))
    cell_x, cell_y = width / columns, height / rows
    plain: Plain = {
        "z_mm": z_mm,
        "columns": columns,
        "rows": rows,
        "flux_lm": draw(st.sampled_from([1e-3, 20.0, 1e6])),
        "reflectance": draw(SHARES),
        "specular_share": draw(SHARES),
    }
    if columns > 1:
        plain["pitch_x_mm"] = cell_x
    if rows > 1:
        plain["pitch_y_mm"] = cell_y
    if draw(st.booleans()):
        plain |= {"shape": "disc", "diameter_mm": 0.9 * min(cell_x, cell_y)}
    else:
        plain |= {"width_mm": 0.9 * cell_x, "height_mm": 0.9 * cell_y}
    lobe = draw(st.sampled_from([{}, {"half_angle_deg": 60.0}, {"half_angle_deg": 1.0}]))
    return plain | (lobe or {"cosine_power": draw(reals(0.0, 5000.0))})


@st.composite
def scenes(draw: st.DrawFn) -> Plain:
    """A valid scene with any parts, walls whole, partial, tapered or none."""
    width, height = draw(st.floats(60.0, 120.0)), draw(st.floats(40.0, 80.0))
    depth = draw(st.floats(15.0, 60.0))
    housing: Plain = {"width_mm": width, "height_mm": height, "depth_mm": depth}
    housing["base"] = draw(surfaces())
    slope = 0.0
    if draw(st.integers(0, 3)):
        closed = math.degrees(math.atan(0.5 * (height - 25.0) / depth))
        taper = draw(st.one_of(st.just(0.0), reals(-min(closed, 60.0), 60.0)))
        slope = min(math.tan(math.radians(taper)), 0.0)
        start = draw(st.sampled_from([0.0, 0.2, 0.5])) * depth
        housing["walls"] = draw(surfaces()) | {
            "taper_deg": taper,
            "from_mm": start,
            "to_mm": start + draw(reals(0.1, 1.0)) * (depth - start),
        }
    room_x, room_y = (size + 2.0 * slope * 3.0 for size in (width, height))
    groups = {
        f"group_{k}": draw(emitters(0.9 * room_x, 0.9 * room_y, float(k)))
        for k in range(draw(st.integers(1, 3)))
    }
    sheets = [kind for kind in PARTS if kind not in ONCE]
    train: Plain = {}
    z_mm = 4.0
    for k, kind in enumerate(draw(st.lists(st.sampled_from(sheets), max_size=4))):
        part = draw(PARTS[kind])
        train[f"{kind}_{k}"] = _placed(part, z_mm, draw(st.floats(1.0, 10.0)), housing, slope)
        z_mm += 16.0
    for kind in ONCE:
        train[kind] = _placed(draw(PARTS[kind]), z_mm, draw(st.floats(1.0, 10.0)), housing, slope)
        z_mm += 16.0
    light = draw(
        st.sampled_from(
            [{}, {"wavelengths_nm": [450.0, 620.0]}, {"wavelengths_nm": [380.0], "shares": [3.0]}]
        )
    )
    return {"light": light, "housing": housing, "emitters": groups, "train": train}


def _placed(part: Plain, z_mm: float, beyond: float, housing: Plain, slope: float) -> Plain:
    """Give a part its height, and sizes that fit the housing there."""
    z_mm += beyond
    part = part | {"z_mm": z_mm}
    inside = z_mm < housing["depth_mm"]
    opening = [
        housing[key] + 2.0 * slope * min(z_mm, housing["depth_mm"])
        for key in ("width_mm", "height_mm")
    ]
    if part["kind"] == "panel" and inside:
        for side, room in zip(("width", "height"), opening, strict=True):
            for which in ("outer", "active"):
                part[f"{which}_{side}_mm"] = min(part[f"{which}_{side}_mm"], room)
    elif part["kind"] == "fresnel_lens" and "width_mm" in part and inside:
        for key, room in zip(("width_mm", "height_mm"), opening, strict=True):
            part[key] = min(part[key], room)
    elif "diameter_mm" in part and inside and part["kind"] != "aperture_stop":
        part["diameter_mm"] = min(part["diameter_mm"], *opening)
    elif not inside and "diameter_mm" not in part and part["kind"] != "panel":
        part |= {"width_mm": 50.0, "height_mm": 40.0}
    return part
