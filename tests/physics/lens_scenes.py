"""Lenses of printed prescriptions, and a plain scene to put them in, for the checks here."""

from __future__ import annotations

from typing import NamedTuple

from photonsim.scene import Scene, parse_scene

# A small square panel, 45 mm up.
SQUARE_PANEL = """
[train.panel]
kind = "panel"
z_mm = 45.0
columns = 90
rows = 90
active_width_mm = 20.0
active_height_mm = 20.0
outer_width_mm = 20.0
outer_height_mm = 20.0
thickness_mm = 0.0
"""


class Prescription(NamedTuple):
    """Faces as (radius in mm, index behind), their heights and the diameters of the lenses."""

    faces: list[tuple[float, float]]
    heights: list[float]
    diameters: list[float]


# W. J. Smith, Modern Optical Engineering, 4th ed., p. 119; n_d of SK4 and SF2.
SK4, SF2 = 1.61272, 1.64769
TRIPLET = Prescription(
    faces=[
        (37.40, SK4),
        (-341.48, 1.0),
        (-42.65, SF2),
        (36.40, 1.0),
        (204.52, SK4),
        (-37.05, 1.0),
    ],
    heights=[0.0, 5.90, 18.83, 21.33, 33.18, 39.08],
    diameters=[29.4, 21.6, 23.2],
)


def real_lens(name: str, z: float, thickness: float, diameter: float, *radii: float | None, **more):
    """Return the TOML of a real lens; a radius of None is flat."""
    lines = [f"[train.{name}]", 'kind = "real_lens"', f"z_mm = {z!r}"]
    lines += [f"thickness_mm = {thickness!r}", f"diameter_mm = {diameter!r}"]
    for side, radius in zip(("lamp", "screen"), radii, strict=True):
        if radius is not None:
            lines.append(f"radius_{side}_mm = {radius!r}")
    lines += [f"{key} = {value!r}" for key, value in more.items()]
    return "\n".join(lines) + "\n"


def triplet_at(z: float) -> str:
    """Return the TOML of the printed triplet, its first face towards the lamp at z."""
    text = ""
    for k, name in enumerate(("first", "second", "third")):
        (front, glass), (back, _) = TRIPLET.faces[2 * k : 2 * k + 2]
        low, high = TRIPLET.heights[2 * k : 2 * k + 2]
        text += real_lens(name, z + low, high - low, TRIPLET.diameters[k], front, back, index=glass)
    return text


PLANO = {
    "convex": real_lens("lens", 200.0, 5.0, 40.0, 51.68, None, index=1.5168),
    "plane": real_lens("lens", 200.0, 5.0, 40.0, None, -51.68, index=1.5168),
}


def scene_with(lenses: str, emitter: str = "diameter_mm = 2.0\nflux_lm = 100.0") -> Scene:
    """Return a scene whose lamp, panel and stop come before the lenses given."""
    return parse_scene(
        f"""
[housing]
width_mm = 60.0
height_mm = 60.0
depth_mm = 40.0

[emitters.disc]
shape = "disc"
{emitter}

[train.panel]
kind = "panel"
z_mm = 45.0
columns = 30
rows = 30
active_width_mm = 30.0
active_height_mm = 30.0
outer_width_mm = 30.0
outer_height_mm = 30.0
thickness_mm = 0.0

[train.stop]
kind = "aperture_stop"
z_mm = 99.0
diameter_mm = 30.0

{lenses}"""
    )
