"""A lamp in which nothing is symmetric, so that no drawing can be turned over unnoticed.

Seen from the screen, x to the right and y up, its bar of LEDs stands at the upper right before a
faint board, film lies in strips below the middle, diffuser in strips at the left. Walls and base
are black: every emitter is seen where it stands.
"""

from __future__ import annotations

import numpy as np

from photonsim.scene import Scene, parse_scene

# Where the middle of the bar stands, and the strips that are covered, in mm.
LIGHT = (22.0, 12.0)
FILM_ACROSS_Y = [(-25.0, -14.0), (-9.0, -3.0)]
SHEET_ACROSS_X = [(-46.0, -30.0), (-21.0, -17.0)]
RIDGES_DEG = 30.0

TEXT = f"""
title = "A lopsided lamp"
[housing]
width_mm = 110.0
height_mm = 70.0
depth_mm = 40.0
base = {{ reflectance = 0.0 }}
walls = {{ reflectance = 0.0 }}
[emitters.bar]
width_mm = 4.0
height_mm = 3.0
columns = 3
rows = 2
pitch_x_mm = 7.0
pitch_y_mm = 9.0
x_mm = {LIGHT[0]}
y_mm = {LIGHT[1]}
z_mm = 1.0
flux_lm = 50.0
reflectance = 0.0
[emitters.glow]
width_mm = 96.0
height_mm = 54.0
z_mm = 0.5
flux_lm = 200.0
reflectance = 0.0
[train.film]
kind = "prism_film"
z_mm = 6.0
index = 1.586
along_deg = {RIDGES_DEG}
[train.film.strips]
across = "y"
covered_mm = {[list(span) for span in FILM_ACROSS_Y]}
[train.sheet]
kind = "diffuser"
z_mm = 10.0
transmittance = 0.9
reflectance = 0.05
half_angle_deg = 10.0
[train.sheet.strips]
across = "x"
covered_mm = {[list(span) for span in SHEET_ACROSS_X]}
[train.panel]
kind = "panel"
z_mm = 40.0
columns = 192
rows = 108
active_width_mm = 96.0
active_height_mm = 54.0
outer_width_mm = 104.0
outer_height_mm = 62.0
[train.field_lens]
kind = "ideal_lens"
z_mm = 44.0
focal_mm = 120.0
diameter_mm = 124.0
[train.objective]
kind = "ideal_lens"
z_mm = 160.0
focal_mm = 105.0
diameter_mm = 60.0
[train.stop]
kind = "aperture_stop"
z_mm = 164.0
diameter_mm = 40.0
[screen]
distance_mm = 1000.0
room_lux = 0.0
"""

# A letter that is itself in no other position, white on black, row 0 at the top.
F = np.array([[1, 1, 1], [1, 0, 0], [1, 1, 0], [1, 0, 0], [1, 0, 0]], dtype=float)


def lopsided(**screen: object) -> Scene:
    """Return the scene; keywords are further entries of its screen."""
    return parse_scene(TEXT + "".join(f"{key} = {value!r}\n" for key, value in screen.items()))
