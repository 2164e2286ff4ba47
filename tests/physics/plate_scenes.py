"""The light plate of the check values as a scene, with a panel right on its front."""

from __future__ import annotations

PLATE = {
    "kind": "light_plate",
    "z_mm": 2.0,
    "width_mm": 90.0,
    "height_mm": 50.0,
    "thickness_mm": 3.0,
    "index": 1.49,
    "dot_reflectance": 0.95,
    "reflector": {"reflectance": 0.95},
}
ROW = {"edge": "-x", "width_mm": 50.0, "height_mm": 3.0, "flux_lm": 100.0}
MIRRORS = {"edges": "mirrored", "edge_reflectance": 1.0}
GRADED = {"dot_share": 0.9, "dot_drain_mm": 30.0}


def plate_scene(plate=(), groups=(ROW,), parts=(), size=(90.0, 50.0), **housing):
    """Plain values of a scene: the plate, then `parts` by name, then a panel that counts all."""
    plate = {key: value for key, value in (PLATE | dict(plate)).items() if value is not None}
    z_mm = plate["z_mm"] + plate["thickness_mm"]
    train = {"plate": plate}
    for name, part in dict(parts).items():
        z_mm = part.get("z_mm", z_mm)
        train[name] = part | {"z_mm": z_mm}
        z_mm += part.get("thickness_mm", 0.0)
    panel = {"kind": "panel", "columns": 9, "rows": 9, "thickness_mm": 0.0, "transmittance": 1.0}
    panel |= dict(zip(("active_width_mm", "active_height_mm"), size, strict=True))
    panel |= dict(zip(("outer_width_mm", "outer_height_mm"), size, strict=True))
    train["panel"] = panel | {"frame_reflectance": 0.0, "z_mm": z_mm + (0.001 if parts else 0.0)}
    train["stop"] = {"kind": "aperture_stop", "z_mm": 500.0, "diameter_mm": 10.0}
    return {
        "housing": {"width_mm": 90.0, "height_mm": 50.0, "depth_mm": 10.0} | housing,
        "emitters": {f"row_{k}": dict(group) for k, group in enumerate(groups)},
        "train": train,
    }
