"""A sheet measured alone: a narrow beam straight through it."""

from __future__ import annotations

from photonsim.scene import ApertureStop, Base, Emitter, Housing, Panel, Scene
from photonsim.scene.sheet import Sheet

# The narrowest beam an emitter can have: half intensity at 1 degree from its axis.
BEAM_POWER = 4500.0
SIDE_MM = 400.0


def sheet_alone(scene: Scene, name: str) -> Scene:
    """Return a scene in which a narrow beam meets a sheet of another scene, whole and alone.

    What leaves the sheet at all but grazing angles meets a panel close behind, which counts it by
    its angle. Nothing else reflects: light that the sheet turns back is lost. Raises KeyError for a
    name not in the train, TypeError for a part that is no sheet.
    """
    sheet = scene.train[name]
    if not isinstance(sheet, Sheet):
        raise TypeError(f"{name} is no sheet")
    alone = sheet.model_copy(
        update={"z_mm": 10.0, "strips": None, "width_mm": SIDE_MM, "height_mm": SIDE_MM}
    )
    behind = alone.end_mm + 0.5
    return Scene(
        title=f"{name} alone",
        light=scene.light,
        housing=Housing(
            width_mm=SIDE_MM, height_mm=SIDE_MM, depth_mm=5.0, base=Base(reflectance=0.0)
        ),
        emitters={"beam": Emitter(width_mm=1.0, height_mm=1.0, flux_lm=1.0,
                                  cosine_power=BEAM_POWER, reflectance=0.0)},
        train={
            "sheet": alone,
            "counter": Panel(
                z_mm=behind,
                columns=16,
                rows=16,
                active_width_mm=SIDE_MM,
                active_height_mm=SIDE_MM,
                outer_width_mm=SIDE_MM,
                outer_height_mm=SIDE_MM,
                frame_reflectance=0.0,
            ),
            "stop": ApertureStop(z_mm=behind + 100.0, diameter_mm=10.0),
        },
    )  # fmt: skip
