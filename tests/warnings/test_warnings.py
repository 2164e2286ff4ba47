"""Every doubt is raised by a scene made for it, and by no sane one."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from photonsim.scene import Scene, load_scene
from photonsim.warnings.about import warnings_about
from tests.shipped import APART, SCENES

Lamp = Callable[..., Scene]

# The telephone's lens has no stop: rays near the axis ask for another focus than all its light.
LAMPS = [*SCENES, *(path for path in APART if path.stem != "telephone")]

FOIL = {"kind": "reflective_polariser", "z_mm": 30.0, "pass_deg": 0.0}
AXIS = "train.panel.polariser_deg"
WHITE = {"housing.base.reflectance": 0.9}
MIST = {"kind": "diffuser", "z_mm": 6.0, "transmittance": 0.8, "reflectance": 0.15, "haze": 0.9}
PLATE = {"kind": "clear_plate", "z_mm": 30.0, "material": "acrylic"}
OBJECTIVE = {"kind": "ideal_lens", "z_mm": 225.0, "focal_mm": 180.0, "diameter_mm": 39.0}
BARE = {"train.film": None, "train.field_lens": None}

# Path of the doubt, words in it, what is changed in the lamp with split film.
DOUBTFUL: list[tuple[str, str, dict[str, Any]]] = [
    ("housing.base.reflectance", "so much", {"housing.base.reflectance": 0.995}),
    ("housing.walls.reflectance", "so much", {"housing.walls.reflectance": 1.0}),
    ("emitters.bars.reflectance", "so much", {"emitters.bars.reflectance": 1.0}),
    ("train.panel.frame_reflectance", "so much", {"train.panel.frame_reflectance": 1.0}),
    (
        "train.mist.reflectance",
        "next to nothing",
        {"train.mist<film": {**MIST, "reflectance": 0.2}},
    ),
    ("train.film.ridges", "away from the axis", {"train.film.ridges": "to_lamp"}),
    ("train.film.strips.offset_mm", "no gap lies over", {"train.film.strips.offset_mm": 0.0}),
    (
        "train.film.strips.covered_mm",
        "no gap lies over",
        {"train.film.strips": {"across": "y", "covered_mm": [[-21, -15], [-3, 3], [15, 21]]}},
    ),
    ("train.film.width_mm", "passes beside", {"train.film.width_mm": 50.0}),
    (
        "train.plate.height_mm",
        "far beyond",
        {"train.plate<field_lens": {**PLATE, "z_mm": 47.0, "width_mm": 110, "height_mm": 300}},
    ),
    (
        "train.mist.z_mm",
        "blurs the picture",
        {"train.mist<field_lens": {**MIST, "z_mm": 47.0, "width_mm": 100, "height_mm": 60}},
    ),
    ("train.mist.haze", "20 % haze", {"train.mist<film": {**MIST, "haze": 0.2}}),
    (
        "train.mist.half_angle_deg",
        "hardly a diffuser",
        {"train.mist<film": {**MIST, "haze": None, "half_angle_deg": 1.5}},
    ),
    ("emitters.bars.flux_lm", "3 060 lm from each", {"emitters.bars.flux_lm": 30000.0}),
    ("emitters.bars.flux_lm", "0.051 lm from each", {"emitters.bars.flux_lm": 0.5}),
    (
        "emitters.bars.pitch_y_mm",
        "more than the distance",
        {"emitters.bars.rows": 2, "emitters.bars.pitch_y_mm": 50.0, "train.film.strips": None},
    ),
    ("train.panel.transmittance", "first polariser", {"train.panel.transmittance": 0.9}),
    ("train.foil.pass_deg", "has no polariser_deg", {"train.foil<panel": FOIL, **WHITE}),
    ("train.foil.pass_deg", "takes 100 %", {"train.foil<panel": FOIL, AXIS: 90.0, **WHITE}),
    (
        "train.foil.pass_deg",
        "takes 25 %",
        {"train.foil<panel": {**FOIL, "kind": "absorbing_polariser", "pass_deg": 90.0}, AXIS: 60.0},
    ),
    (
        "train.foil.block_reflectance",
        "brings 0.967 times",
        {
            "train.film": None,
            "train.foil<panel": FOIL,
            AXIS: 0.0,
            **WHITE,
            "housing.base.specular_share": 1.0,
        },
    ),
    ("train.film.along_deg", "6 % less light near the axis", {AXIS: 0.0}),
    ("train.panel.columns", "480 columns for 272", {"train.panel.columns": 400}),
    ("train.field_lens.focal_mm", "far from the stop", {"train.field_lens.focal_mm": 120.0}),
    ("train.field_lens.focal_mm", "far from the stop", {"train.field_lens.focal_mm": -180.0}),
    (
        "train.field_lens.focal_mm",
        "f/0.46",
        {"train.field_lens.focal_mm": 60.0, "train.stop.z_mm": 110.0},
    ),
    ("train.field_lens.diameter_mm", "cuts off", {"train.field_lens.diameter_mm": 90.0}),
    ("train.stop.diameter_mm", "larger than objective", {"train.objective<stop": OBJECTIVE}),
    (
        "train.stop.z_mm",
        "image the panel here",
        {
            "train.field_lens.z_mm": 195.0,
            "train.field_lens.focal_mm": 50.0,
            "train.field_lens.diameter_mm": 90.0,
            "train.stop.z_mm": 270.0,
        },
    ),
    ("housing.depth_mm", "leave sideways", {**BARE, "train.panel.z_mm": 120.0}),
    ("housing.depth_mm", "not the size", {"housing.depth_mm": 4500.0, **BARE}),
]


# The lamps here are smaller than their panels, which tests/optics/test_reach.py is about.
EDGES = "the stop sees past the lamp"


def odd(scene: Scene) -> list[str]:
    """Return all doubts about a scene but those about the picture's edges."""
    return [told for told in map(str, warnings_about(scene)) if EDGES not in told]


def taken(changes: dict[str, Any]) -> dict[str, Any]:
    """Leave out the keys that a changed table gives as None."""
    return {
        path: {k: v for k, v in value.items() if v is not None}
        if isinstance(value, dict)
        else value
        for path, value in changes.items()
    }


@pytest.mark.parametrize(
    ("path", "words", "changes"), DOUBTFUL, ids=[f"{path}-{words}" for path, words, _ in DOUBTFUL]
)
def test_doubt_is_raised_alone(lamp: Lamp, path: str, words: str, changes: dict[str, Any]) -> None:
    told = odd(lamp(taken(changes)))
    assert len(told) == 1, told
    assert told[0].startswith(f"{path} = ")
    assert words in told[0]


def test_condenser_too_small_for_the_corners(lamp: Lamp) -> None:
    changes = {"train.condenser_2.diameter_mm": 105.0}
    scene = lamp(changes, name="point_lamp")
    (doubt,) = (doubt for doubt in warnings_about(scene) if EDGES not in str(doubt))
    # 109.24 mm of diagonal, and 2 x 8 mm x the slope 54.62 / 180 towards the axis.
    assert doubt.path == "train.condenser_2.diameter_mm"
    assert "more than 114 mm" in str(doubt)


def test_rectangular_condenser_too_low_for_the_corners(lamp: Lamp) -> None:
    sheet = {"kind": "fresnel_lens", "z_mm": 104.0, "focal_mm": 1e4, "index": 1.49}
    sheet |= {"width_mm": 110.0, "height_mm": 50.0}
    scene = lamp({"train.condenser_2": None, "train.sheet<panel": sheet}, name="point_lamp")
    found = {doubt.path: doubt for doubt in warnings_about(scene)}
    # As in the round case, of the picture's 53.86 mm alone: 110 mm are wide enough for 95.04.
    assert "train.sheet.width_mm" not in found
    panel, view = scene.panel, 54.62 / 180.0
    needed = 53.86 * (1.0 + (panel.z_mm - 104.0) * view / 54.62)
    assert f"more than {needed:.3g} mm" in str(found["train.sheet.height_mm"])


@pytest.mark.parametrize("path", LAMPS, ids=lambda path: path.stem)
def test_shipped_scenes_raise_no_doubt_but_of_their_edges(path: Path) -> None:
    assert odd(load_scene(path)) == []


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"train.field_lens": None},
        {"train.film": None},
        {"train.film.strips": None},
        {"housing.walls": None},
        {"train.plate<field_lens": {**PLATE, "z_mm": 47.0, "width_mm": 100, "height_mm": 60}},
        {"train.mist<film": MIST},
        {"train.mist<film": {**MIST, "haze": None, "opal": True}},
        {"train.objective<stop": {**OBJECTIVE, "diameter_mm": 60.0}},
        {"train.film.apex_deg": 60.0, "train.film.ridges": "to_lamp"},  # a turning film
        {"train.mist<film": MIST, "train.film.strips.offset_mm": 0.0},
    ],
    ids=str,
)
def test_sane_variants_raise_no_doubt(lamp: Lamp, changes: dict[str, Any]) -> None:
    assert odd(lamp(taken(changes))) == []


@pytest.mark.parametrize(
    ("back", "gain"),
    [
        ({"reflector.reflectance": 0.95}, None),
        # Dots of 0.95 on up to 0.93 of the back: 1.12 +- 0.02 times as traced, over plate alone.
        ({"reflector.reflectance": 0.1}, None),
        # 0.2 x 0.95 + 0.8 x 0.1 = 27 %; traced 0.93 +- 0.02.
        ({"reflector.reflectance": 0.1, "dot_share": 0.2}, "27 % at most, the sheet brings 1.0"),
        ({"reflector": False, "dot_share": 0.2}, "plate and the base, which together reflect 23 %"),
    ],
)
def test_a_plates_back_is_the_base_of_a_reflective_polariser(back, gain):
    plate = next(path for path in APART if path.stem == "plate")
    changes = {f"train.plate.{key}": value for key, value in back.items()}
    dark = load_scene(plate).with_numbers({"housing.base.reflectance": 0.05, **changes})
    found = {doubt.path: str(doubt) for doubt in warnings_about(dark)}
    told = found.get("train.polariser.block_reflectance")
    assert (told is None) if gain is None else (gain in str(told))
