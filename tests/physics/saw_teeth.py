"""Explicit saw-teeth: a lamp with one Fresnel sheet, traced in whole arrays, without the kernel.

Each ray meets the very groove that lies where it comes to the sheet: facet, draft face and tip are
lines in the groove's cross-section, met one after another by ray and line, in three dimensions. A
groove counts as straight and its neighbours as equal, so the pitch must be small. Facets are tilted
by bisection on Snell's law. Every face refracts and reflects, and what it reflects is followed on;
black draft faces take what they meet, and `black_inside` is for sheets whose faces reflect nothing
back into them: what would be is lost.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Wholes = NDArray[np.bool_]

# What became of a ray that met a sheet.
THROUGH, MIRRORED, REFLECTED, WALLS = range(4)
MOST_FACES = 256


class Sheet(NamedTuple):
    """A Fresnel sheet: lengths in mm; `object_mm` is inf for parallel light."""

    z_mm: float
    focal_mm: float
    diameter_mm: float
    grooves: str = "to_screen"
    object_mm: float = np.inf
    index: float = 1.49
    draft_deg: float = 0.0
    rounded_tip_share: float = 0.0
    groove_walls: str = "clear"
    pitch_mm: float = 0.005
    # From the flat face to the grooves' feet.
    depth_mm: float = 0.02
    black_inside: bool = False

    @property
    def toml(self) -> str:
        """The same sheet as a part of a scene."""
        near = f"object_mm = {self.object_mm}\n" if np.isfinite(self.object_mm) else ""
        return (
            f'[train.sheet]\nkind = "fresnel_lens"\nz_mm = {self.z_mm}\n'
            f"focal_mm = {self.focal_mm}\ndiameter_mm = {self.diameter_mm}\n{near}"
            f'grooves = "{self.grooves}"\nindex = {self.index}\ndraft_deg = {self.draft_deg}\n'
            f"rounded_tip_share = {self.rounded_tip_share}\n"
            f'groove_walls = "{self.groove_walls}"\n'
        )


class Passed(NamedTuple):
    """Rays [n] after a sheet: what became of them, whether they met a draft face, and the rest."""

    fate: NDArray[np.int64]
    met_wall: Wholes
    strayed: Wholes  # sent back inside by any face
    place: Reals  # [n, 2] in mm
    way: Reals  # [n, 3]


def facet_tilts(sheet: Sheet, radius: Reals) -> Reals:
    """Return the tilt of the facet at each radius, in radians; positive where it falls outwards.

    The design ray is sent from the axis point `object_mm` away to its image; bisection.
    """
    near = np.arctan(radius / sheet.object_mm)
    far = np.arctan(radius * (1.0 / sheet.focal_mm - 1.0 / sheet.object_mm))
    flat, groove = (near, far) if sheet.grooves == "to_screen" else (far, near)
    inside = np.arcsin(np.sin(flat) / sheet.index)
    low, high = np.full_like(radius, -1.5), np.full_like(radius, 1.5)
    for _ in range(60):
        tilt = 0.5 * (low + high)
        # Light within the sheet leans outwards by `inside`, and by `inside - tilt` off the normal.
        sine = np.clip(sheet.index * np.sin(inside - tilt), -1.0, 1.0)
        too_little = np.arcsin(sine) + tilt > -groove
        low, high = np.where(too_little, tilt, low), np.where(too_little, high, tilt)
    return 0.5 * (low + high)


def _face(way: Reals, normal: Reals, ratio: Reals, luck: Reals) -> tuple[Wholes, Reals]:
    """Return (which rays a face reflects, directions after it); `normal` against the light.

    `ratio` is the index before over that behind. Fresnel's amplitudes (Hecht, Optics, section 4.6),
    squared; unpolarised.
    """
    ci = -(way * normal).sum(axis=1)
    inner = 1.0 - ratio**2 * (1.0 - ci**2)
    ct = np.sqrt(np.maximum(inner, 0.0))
    r_s = (ratio * ci - ct) / (ratio * ci + ct)
    r_p = (ratio * ct - ci) / (ratio * ct + ci)
    reflects = (inner <= 0.0) | (luck < 0.5 * (r_s**2 + r_p**2))
    back = way + 2.0 * ci[:, None] * normal
    on = ratio[:, None] * way + (ratio * ci - ct)[:, None] * normal
    return reflects, np.where(reflects[:, None], back, on)


def through_sheet(sheet: Sheet, place: Reals, way: Reals, generator: np.random.Generator) -> Passed:
    """Send rays from places [n, 2] in the sheet's plane along [n, 3], from either side."""
    n = len(place)
    depth = sheet.depth_mm / sheet.pitch_mm
    radius = np.hypot(*place.T)
    tooth = np.floor(radius / sheet.pitch_mm)
    outward = place / np.maximum(radius, 1e-12)[:, None]
    tilt = facet_tilts(sheet, (tooth + 0.5) * sheet.pitch_mm)
    turned = np.where(tilt < 0.0, -1.0, 1.0)
    t, g = np.tan(np.abs(tilt)), np.tan(np.radians(sheet.draft_deg))
    f = 1.0 / (1.0 + t * g)
    q, top = 1.0 - f, t * f
    # The frame of the groove: a across it, the way that its facet falls; b along; c to the air.
    up = 1.0 if sheet.grooves == "to_screen" else -1.0
    e_a = turned[:, None] * outward
    d = np.stack(
        [
            (way[:, :2] * e_a).sum(axis=1),
            way[:, 1] * e_a[:, 0] - way[:, 0] * e_a[:, 1],
            up * way[:, 2],
        ],
        axis=1,
    )
    a = radius / sheet.pitch_mm - tooth
    a = np.where(turned < 0.0, 1.0 - a, a)
    normals = {
        "facet": np.stack([np.sin(np.abs(tilt)), 0.0 * t, np.cos(tilt)], axis=1),
        "draft": np.tile([-1.0 / np.hypot(1.0, g), 0.0, g / np.hypot(1.0, g)], (n, 1)),
        "base": np.tile([0.0, 0.0, -1.0], (n, 1)),
    }
    fate = np.full(n, -1)
    met_wall, strayed = np.zeros(n, dtype=bool), np.zeros(n, dtype=bool)
    moved = np.zeros((n, 2))
    from_flat = d[:, 2] > 0.0
    mirrored, after = _face(d, normals["base"], np.full(n, 1.0 / sheet.index), generator.random(n))
    fate[from_flat & mirrored] = MIRRORED
    d = np.where(from_flat[:, None], after, d)
    inside = from_flat.copy()
    c = np.where(from_flat, 0.0, top)
    run = np.where(from_flat, depth * d[:, 0] / d[:, 2], 0.0)
    moved[:, 0] += run
    moved[:, 1] += np.where(from_flat, depth * d[:, 1] / d[:, 2], 0.0)
    # A tooth reaches from -q to f: what comes up beyond its foot is in the next.
    a = np.where(from_flat, (a + run + q) % 1.0 - q, a)
    live = np.flatnonzero(fate < 0)
    for _ in range(MOST_FACES):
        if not len(live):
            break
        tl, fl, ql, hl = t[live], f[live], q[live], top[live]
        al, cl, dl, inl = a[live], c[live], d[live], inside[live]
        sign = np.where(inl, 1.0, -1.0)
        # From within, a face is met where the way goes out through it; the groove's the other way.
        ways = {}
        with np.errstate(divide="ignore", invalid="ignore"):
            climb = dl[:, 2] + tl * dl[:, 0]
            way_f = (tl * (fl - al) - cl) / climb
            ways["facet"] = np.where(sign * climb > 0.0, way_f, np.inf)
            lean = g * dl[:, 2] - dl[:, 0]
            way_d = (al - np.where(inl, -ql, fl) - g * cl) / lean
            ways["draft"] = np.where(sign * lean > 0.0, way_d, np.inf)
            way_c = (np.where(inl, 0.0, hl) - cl) / dl[:, 2]
            ways["open"] = np.where(sign * dl[:, 2] < 0.0, way_c, np.inf)
        every = np.maximum(np.stack(list(ways.values())), 0.0)
        which = every.argmin(axis=0)
        step = every[which, np.arange(len(live))]
        al, cl = al + step * dl[:, 0], cl + step * dl[:, 2]
        moved[live] += step[:, None] * dl[:, :2]
        on_facet, on_draft, opens = (which == k for k in range(3))
        leaves = opens & ~inl
        fate[live[leaves]] = THROUGH
        met_wall[live] |= on_draft
        rounded = on_facet & (al < sheet.rounded_tip_share * fl)
        stuck = rounded | (on_draft & (sheet.groove_walls == "black"))
        fate[live[stuck]] = WALLS
        normal = np.where(
            on_facet[:, None],
            normals["facet"][live],
            np.where(on_draft[:, None], normals["draft"][live], normals["base"][live]),
        )
        normal = -sign[:, None] * normal
        ratio = np.where(inl, sheet.index, 1.0 / sheet.index)
        ends = leaves | stuck
        reflects, after = _face(dl, normal, ratio, generator.random(len(live)))
        reflects &= ~ends
        strayed[live] |= reflects
        if sheet.black_inside:
            fate[live[reflects]] = REFLECTED
        out_flat = opens & inl & ~reflects
        fate[live[out_flat]] = THROUGH
        d[live] = np.where(ends[:, None], dl, after)
        crossed = ~ends & ~reflects
        # A tooth's own draft face is the far side of the groove before it.
        al = np.where(crossed & on_draft, al + sign, al)
        # To the flat face, and, of what it sends back, up again into another tooth.
        at_flat = opens & inl
        passes = depth * (at_flat.astype(float) + (at_flat & reflects))
        with np.errstate(divide="ignore", invalid="ignore"):
            sideways = np.where(at_flat[:, None], (passes / -dl[:, 2])[:, None] * dl[:, :2], 0.0)
        moved[live] += sideways
        al = np.where(at_flat, (al + sideways[:, 0] + ql) % 1.0 - ql, al)
        inside[live] = inl ^ (crossed & (on_facet | on_draft))
        a[live], c[live] = al, cl
        live = live[fate[live] < 0]
    fate[live] = REFLECTED
    new_way = np.stack(
        [
            d[:, 0] * e_a[:, 0] - d[:, 1] * e_a[:, 1],
            d[:, 0] * e_a[:, 1] + d[:, 1] * e_a[:, 0],
            up * d[:, 2],
        ],
        axis=1,
    )
    new_place = place + sheet.pitch_mm * np.stack(
        [
            moved[:, 0] * e_a[:, 0] - moved[:, 1] * e_a[:, 1],
            moved[:, 0] * e_a[:, 1] + moved[:, 1] * e_a[:, 0],
        ],
        axis=1,
    )
    return Passed(fate, met_wall, strayed, new_place, new_way)


class Lamp(NamedTuple):
    """A small Lambertian disc, one sheet, a panel that only counts, and a stop; mm."""

    sheet: Sheet
    off_axis_mm: float = 0.0
    disc_mm: float = 4.0
    panel_z_mm: float = 75.0
    panel_mm: float = 60.0
    stop_z_mm: float = 240.0
    stop_mm: float = 40.0

    @property
    def toml(self) -> str:
        """The same lamp as a scene: black base, no walls, nothing comes back."""
        side = self.panel_mm
        return (
            "[housing]\nwidth_mm = 400.0\nheight_mm = 400.0\ndepth_mm = 2.0\n"
            "base = { reflectance = 0.0 }\n"
            f'[emitters.source]\nshape = "disc"\ndiameter_mm = {self.disc_mm}\nflux_lm = 1.0\n'
            f"reflectance = 0.0\nx_mm = {self.off_axis_mm}\n"
            f"{self.sheet.toml}"
            f'[train.target]\nkind = "panel"\nz_mm = {self.panel_z_mm}\ncolumns = 9\nrows = 9\n'
            f"active_width_mm = {side}\nactive_height_mm = {side}\nouter_width_mm = {side}\n"
            f"outer_height_mm = {side}\ntransmittance = 1.0\nthickness_mm = 0.0\n"
            f'[train.stop]\nkind = "aperture_stop"\nz_mm = {self.stop_z_mm}\n'
            f"diameter_mm = {self.stop_mm}\n"
        )


class Shares(NamedTuple):
    """Photons of a lamp that met a wall or tip, were reflected and lost, lit panel and stop.

    The last four count those of panel and stop that had met a draft face on their way, and those
    that had only been reflected inside the sheet.
    """

    walls: int
    reflected: int
    panel: int
    stop: int
    wall_panel: int
    wall_stop: int
    stray_panel: int
    stray_stop: int


def trace_lamp(lamp: Lamp, photons: int, seed: int) -> Shares:
    """Trace a lamp of explicit teeth, a quarter of a million photons at a time."""
    generator = np.random.default_rng(seed)
    total = np.zeros(len(Shares._fields), dtype=int)
    for first in range(0, photons, 1 << 18):
        total += _trace(lamp, min(photons - first, 1 << 18), generator)
    return Shares(*total.tolist())


def even_light(generator: np.random.Generator, count: int) -> Reals:
    """Return Lambertian directions [count, 3] towards the screen."""
    sine, turn = np.sqrt(generator.random(count)), 2.0 * np.pi * generator.random(count)
    return np.stack([sine * np.cos(turn), sine * np.sin(turn), np.sqrt(1.0 - sine**2)], axis=1)


def _trace(lamp: Lamp, photons: int, generator: np.random.Generator) -> NDArray[np.int64]:
    sheet = lamp.sheet
    rim, turn = np.sqrt(generator.random(photons)), 2.0 * np.pi * generator.random(photons)
    place = 0.5 * lamp.disc_mm * rim[:, None] * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    place[:, 0] += lamp.off_axis_mm
    way = even_light(generator, photons)
    place = place + sheet.z_mm * way[:, :2] / way[:, 2:]
    meets = np.hypot(*place.T) < 0.5 * sheet.diameter_mm
    passed = through_sheet(sheet, place[meets], way[meets], generator)
    goes = (passed.fate == THROUGH) & (passed.way[:, 2] > 0.0)
    place, way = passed.place[goes], passed.way[goes]
    slope = way[:, :2] / way[:, 2:]
    on_panel = np.abs(place + (lamp.panel_z_mm - sheet.z_mm) * slope).max(axis=1)
    at_stop = np.hypot(*(place + (lamp.stop_z_mm - sheet.z_mm) * slope).T)
    panel = on_panel < 0.5 * lamp.panel_mm
    stop = panel & (at_stop < 0.5 * lamp.stop_mm)
    wall = passed.met_wall[goes]
    stray = passed.strayed[goes] & ~wall
    counted = [passed.fate == WALLS, passed.fate == REFLECTED, panel, stop]
    counted += [panel & wall, stop & wall, panel & stray, stop & stray]
    return np.array([which.sum() for which in counted])
