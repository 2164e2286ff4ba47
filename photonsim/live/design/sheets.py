"""Sheets and lenses added, taken out, put in another's place, cut to strips: as values to set."""

from __future__ import annotations

import itertools
import tomllib
from typing import Any

from photonsim.scene import Mistake, Scene, SceneError
from photonsim.scene.sheet import Sheet
from photonsim.scene.train import PART_CLASSES

# What a new part is like until it is told otherwise (common practice: a film and a diffuser from a
# broken screen, a sheet of acrylic, a lens that reaches from the panel to the stop).
NEW: dict[str, dict[str, Any]] = {
    "prism_film": {"index": 1.586},
    "diffuser": {"transmittance": 0.7, "reflectance": 0.25, "haze": 0.9},
    "clear_plate": {"material": "acrylic"},
    "absorbing_polariser": {"pass_deg": 0.0},
    "reflective_polariser": {"pass_deg": 0.0},
    "ideal_lens": {"focal_mm": 180.0, "diameter_mm": 130.0, "transmittance": 0.9},
    "fresnel_lens": {"focal_mm": 180.0, "diameter_mm": 130.0, "material": "acrylic"},
}
CLEARANCE_MM = 0.5


def words_of(kind: str) -> str:
    """Return what a person calls a kind of part."""
    return PART_CLASSES[kind].words


def added(scene: Scene, kind: str) -> Scene:
    """Return a scene with a new part of a kind, in the widest free space before the panel."""
    if kind not in NEW:
        raise SceneError([Mistake("train", "there is no such part to add", kind)], "the page")
    name, number = kind.removeprefix("prism_").split("_")[0], 2
    stem = name
    while name in scene.train:
        name, number = f"{stem}_{number}", number + 1
    values = {f"train.{name}.kind": kind, f"train.{name}.z_mm": _free_mm(scene)}
    return scene.with_numbers(values | {f"train.{name}.{key}": v for key, v in NEW[kind].items()})


def taken_out(scene: Scene, name: str) -> Scene:
    """Return a scene without a part. Raises SceneError where it cannot do without."""
    return scene.with_numbers({f"train.{name}": False})


def replaced(scene: Scene, name: str, kind: str) -> Scene:
    """Return a scene with a part of another kind in the place of one, strips kept."""
    part = scene.train[name]
    values: dict[str, Any] = {"kind": kind, "z_mm": part.z_mm, **NEW.get(kind, {})}
    strips = _tables(scene, name).get("strips")
    if strips and issubclass(PART_CLASSES[kind], Sheet):
        values |= {f"strips.{key}": value for key, value in strips.items()}
    return _put_anew(scene, {name: values})


def swapped(scene: Scene, name: str) -> Scene:
    """Return a scene in which a part and the next one have changed places."""
    names = list(scene.train)
    place = names.index(name)
    if place + 1 == len(names):
        raise SceneError([Mistake(f"train.{name}", "is the last part")], "the page")
    other = names[place + 1]
    heights = {name: scene.train[other].z_mm, other: scene.train[name].z_mm}
    for one in (name, other):
        if scene.train[one].kind in ("panel", "aperture_stop"):
            problem = "panel and stop keep their place; move the others"
            raise SceneError([Mistake(f"train.{one}", problem)], "the page")
    # Thicknesses differ: what comes to lie behind must clear what lies before.
    end = heights[other] + scene.train[other].thickness_mm
    heights[name] = max(heights[name], end)
    found = {one: _flat(_tables(scene, one)) | {"z_mm": z} for one, z in heights.items()}
    return _put_anew(scene, found)


def cut(scene: Scene, name: str, to_strips: bool) -> Scene:
    """Return a scene with a sheet cut to strips, gaps over the rows of emitters, or whole again."""
    path = f"train.{name}.strips"
    if not to_strips:
        return scene.with_numbers({path: False})
    rows = next(iter(scene.emitters.values())).rows_mm()
    height = scene.part_size_mm(name)[1]
    pitch = rows[1] - rows[0] if len(rows) > 1 else float(f"{height / 3.0:.3g}")
    # Strips lie between the rows: half a pitch off a row's centre.
    offset = (rows[0] + 0.5 * pitch) % pitch
    values = {"across": "y", "pitch_mm": pitch, "width_mm": float(f"{pitch * 2 / 3:.6g}")}
    values["offset_mm"] = float(f"{offset:.6g}")
    return scene.with_numbers({f"{path}.{key}": value for key, value in values.items()})


def _free_mm(scene: Scene) -> float:
    """Return the middle of the widest free space between emitters and panel, in mm."""
    edges = [(0.0, max(group.z_mm for group in scene.emitters.values()))]
    edges += [(part.z_mm, part.end_mm) for part in scene.train.values()]
    before = [edge for edge in edges if edge[0] <= scene.panel.z_mm]
    spaces = [(b[0] - a[1], a[1]) for a, b in itertools.pairwise(before)]
    width, start = max(spaces)
    if width < 2.0 * CLEARANCE_MM:
        problem = "there is no room before the panel for one more"
        raise SceneError([Mistake("train", problem)], "the page")
    return float(f"{start + 0.5 * width:.3g}")


def _put_anew(scene: Scene, parts: dict[str, dict[str, Any]]) -> Scene:
    """Return a scene in which parts are taken out and put in again, each where its height is.

    Only so do parts change their order or kind; comments within them go.
    """
    rising = sorted(parts.items(), key=lambda item: item[1]["z_mm"])
    values = {f"train.{name}.{key}": v for name, part in rising for key, v in part.items()}
    return scene.with_numbers({f"train.{name}": False for name in parts}).with_numbers(values)


def _tables(scene: Scene, name: str) -> dict[str, Any]:
    found: dict[str, Any] = tomllib.loads(scene.text)["train"][name]
    return found


def _flat(table: dict[str, Any], before: str = "") -> dict[str, Any]:
    """Return a table's values by their path within it."""
    found: dict[str, Any] = {}
    for key, value in table.items():
        path = before + key
        found |= _flat(value, f"{path}.") if isinstance(value, dict) else {path: value}
    return found
