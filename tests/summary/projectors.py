"""Random projectors out of focus: half of them make no picture at all before they are focused."""

from __future__ import annotations

import random

from photonsim.scene import Scene, parse_scene

GLASS = 1.5168  # n_d of a borosilicate crown

COUNT = 10


def projector(number: int) -> Scene:
    """Return projector `number`; those of even number stand within the focal length: no image."""
    luck = random.Random(1000 + number)
    focal, width = luck.uniform(120.0, 220.0), luck.uniform(60.0, 100.0)
    throw = focal * luck.uniform(8.0, 22.0)
    wanted = focal * throw / (throw - focal)
    off = luck.uniform(0.12, 0.3) * focal
    distance = wanted - off if number % 2 == 0 else wanted + luck.choice((0.01, 0.03, 0.1)) * focal
    stop = focal / luck.uniform(4.5, 8.0)
    panel_z = 40.0
    screen = (
        f"distance_mm = {throw:.1f}"
        if luck.random() < 0.6
        else f"picture_width_mm = {width * (throw / focal - 1.0):.1f}"
    )
    return parse_scene(
        f"""
title = "Projector {number}"
[housing]
width_mm = 130.0
height_mm = 130.0
depth_mm = 40.0
[emitters.lamp]
shape = "rectangle"
width_mm = 120.0
height_mm = 90.0
z_mm = 1.0
flux_lm = 1000.0
cosine_power = 8.0
[train.panel]
kind = "panel"
z_mm = {panel_z}
columns = {luck.choice((320, 480, 800))}
rows = 240
active_width_mm = {width}
active_height_mm = {0.6 * width}
outer_width_mm = 110.0
outer_height_mm = 80.0
[train.field_lens]
kind = "ideal_lens"
z_mm = {panel_z + luck.uniform(2.0, 8.0)}
focal_mm = {luck.uniform(0.9, 1.4) * distance}
diameter_mm = 140.0
{_objective(luck, panel_z + distance, focal, stop)}
[screen]
{screen}
""",
        "projector",
    )


def _objective(luck: random.Random, z: float, focal: float, stop: float) -> str:
    """Return an objective about z of a focal length, in mm, of one of three kinds."""
    hole = f'[train.stop]\nkind = "aperture_stop"\nz_mm = {{}}\ndiameter_mm = {stop}\n'
    kind = luck.choice(("ideal", "single", "pair"))
    if kind == "ideal":
        lens = f'kind = "ideal_lens"\nz_mm = {z}\nfocal_mm = {focal}\ndiameter_mm = {stop + 30.0}'
        return f"[train.lens]\n{lens}\n" + hole.format(z + 3.0)
    glass = f'kind = "real_lens"\nindex = {GLASS}\nthickness_mm = 7.0\ndiameter_mm = {stop + 20.0}'
    if kind == "single":  # two equal faces share the power
        radius = 2.0 * (GLASS - 1.0) * focal
        lens = f"{glass}\nradius_lamp_mm = {radius}\nradius_screen_mm = {-radius}"
        return f"[train.lens]\n{lens}\nz_mm = {z}\n" + hole.format(z + 12.0)
    radius = 2.0 * (GLASS - 1.0) * focal  # two plano-convex lenses share it
    near = f"{glass}\nradius_lamp_mm = {radius}\nz_mm = {z - 20.0}"
    far = f"{glass}\nradius_screen_mm = {-radius}\nz_mm = {z + 14.0}"
    return f"[train.rear]\n{near}\n{hole.format(z)}[train.front]\n{far}\n"
