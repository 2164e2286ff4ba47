"""The text that `photonsim check` prints."""

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from photonsim.optics.facts import diffusers_before_panel
from photonsim.scene import Scene, load_scene, parse_scene
from photonsim.summary.scene_summary import (
    caution_line,
    ideal_film_line,
    scene_summary,
    warnings_text,
)

Lamp = Callable[..., Scene]

ROOT = Path(__file__).parents[2]
FILES = [*sorted((ROOT / "scenes").glob("*.toml")), *(ROOT / "tests" / "scene").glob("*.toml")]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_summary_names_every_part_and_fits_a_terminal(path: Path) -> None:
    scene = load_scene(path)
    summary = scene_summary(scene)
    assert summary.startswith(scene.title)
    for name in (*scene.emitters, *scene.train):
        assert name in summary
    assert max(map(len, summary.splitlines())) <= 100
    assert not any(word in summary for word in ("nan", "inf ", "None", "e+", "\N{NO-BREAK SPACE}"))
    summary.encode("cp1252")  # Windows writes a pipe so


def test_parts_are_listed_in_order_along_z(lamp: Lamp) -> None:
    table = scene_summary(lamp()).split("\n\n")[1].splitlines()[2:]
    heights = [line.split()[0] for line in table if line[:9].strip()]
    assert heights == ["0", "1.6", "12", "45", "45", "50", "230"]


def test_facts_in_the_summary(lamp: Lamp) -> None:
    # G of the stop by the cos⁴ law at the panel's middle: π A sin² 6.34° = 196 mm² sr, 4 to 16 %
    # less towards the edges.
    summary = " ".join(scene_summary(lamp()).split())
    assert "accepts 185 mm² sr from the panel" in summary
    assert 185 < math.pi * 95.04 * 53.86 * math.sin(math.radians(6.34)) ** 2 < 1.07 * 185
    assert "f/4.5: a cone of 6.34° half angle" in summary
    assert "turns back light within 9.4° of the axis and sends light from 30.3° along" in summary
    assert "no more than" not in summary


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"train.field_lens": None}, "corner 16.4° towards the axis"),
        ({"train.panel.transmittance": 1.0}, "without the panel's own loss"),
        ({"train.film.material": "polycarbonate", "train.film.index": None}, "polycarbonate"),
        ({"title": ""}, "Untitled scene"),
        ({"housing.walls": None}, "open sides"),
        (
            {
                "train.field_lens.z_mm": 145.0,
                "train.field_lens.focal_mm": 50.0,
                "train.stop.z_mm": 245.0,
            },
            "it does not limit the angles",
        ),
        (
            {
                "train.panel.polariser_deg": 0.0,
                "emitters.bars.width_mm": 0.2,
                "emitters.bars.height_mm": 0.2,
                "train.stop.diameter_mm": 60.0,
            },
            "97.2 lm for the picture at the very most, most of it polarised along its axis",
        ),
        (
            {
                "housing.base.reflectance": 0.8,
                "train.panel.polariser_deg": 30.0,
                "train.foil<panel": {"kind": "reflective_polariser", "z_mm": 30, "pass_deg": 0},
            },
            "30° from the panel's axis. Over a base that reflects 80 % it would bring 1.15 times "
            "the light of none. Traces with and without it tell what this leaves out: film, "
            "emitters that the stop sees.",
        ),
        (
            {
                "train.panel.polariser_deg": 30.0,
                "train.foil<panel": {"kind": "absorbing_polariser", "z_mm": 30, "pass_deg": 0},
            },
            "foil: 30° from the panel's axis. It leaves 63 % of the light.",
        ),
        ({"emitters.bars.cosine_power": 0.5, "emitters.bars.half_angle_deg": None}, "cos^0.5"),
    ],
    ids=str,
)
def test_summary_says(lamp: Lamp, changes: dict[str, Any], words: str) -> None:
    assert words in " ".join(scene_summary(lamp(changes)).split())


def test_a_plates_reflector_takes_the_place_of_the_base() -> None:
    """A matt 0.95 under the typical sheet, summed bounce by bounce.

    What is traced of the plate with no film over it stays below: 1.5 (scenes/backlight/README.md).
    """
    summary = " ".join(scene_summary(load_scene(ROOT / "scenes/backlight/plate.toml")).split())
    along = across = 0.5
    passed = 0.0
    for _ in range(1000):
        passed += 0.88 * along
        along = across = 0.95 * 0.5 * (0.10 * along + 0.96 * across)
    assert 2.0 * passed == pytest.approx(1.77, abs=0.005)
    assert "Over plate, which reflects 95 % at most, it would bring 1.77 times" in summary
    assert "leaves out: film, losses in plate." in summary


def test_glass_is_left_out_of_what_passes_and_named(lamp: Lamp) -> None:
    glass = scene_summary(load_scene(ROOT / "scenes" / "d_split_film.toml"))
    assert "5.4 % (what faces of glass reflect is left out)" in " ".join(glass.split())
    assert "faces of glass" not in scene_summary(lamp())


def test_leds_at_an_edge_are_told_of_metal() -> None:
    """60 lm every 6.4 mm at 100 lm/W; a telephone has a tenth of that."""
    plate, telephone = (
        " ".join(scene_summary(load_scene(ROOT / f"scenes/backlight/{stem}.toml")).split())
        for stem in ("plate", "telephone")
    )
    assert "94 W to a metre of edge" in plate
    assert "needs metal behind it" in plate
    assert "Plate: a row of LEDs at its edge" in plate
    assert "9.2 W to a metre of edge" in telephone
    assert "needs metal" not in telephone


def test_cautions_where_light_is_bright(lamp: Lamp) -> None:
    bright, dim = scene_summary(lamp()), scene_summary(lamp({"emitters.bars.flux_lm": 2.0}))
    for word in ("IEC 62471", "Heat", "Sun", "Mains", "licensed", "Local codes"):
        assert word in bright
    assert "Cautions" not in dim


def test_short_cautions_point_to_the_long_ones(lamp: Lamp) -> None:
    assert caution_line(lamp(), "a.toml") == (
        "Eyes, heat, sun: see `photonsim check --verbose a.toml`."
    )
    fed = load_scene(ROOT / "scenes" / "d_split_film.toml")
    assert caution_line(fed, "d.toml") == "Eyes, heat, sun: see `photonsim supply d.toml`."
    assert caution_line(lamp({"emitters.bars.flux_lm": 2.0}), "a.toml") == ""


def test_films_without_loss_are_told_what_typical_ones_lose() -> None:
    lossless = load_scene(ROOT / "scenes" / "d_split_film.toml")
    line = ideal_film_line(lossless)
    assert line.startswith("Without loss of its own: film. ")
    assert "flat_tip_share = 0.04, absorption_per_pass = 0.03" in line
    for key in ("flat_tip_share", "absorption_per_pass"):
        assert not ideal_film_line(lossless.with_numbers({f"train.film.{key}": 0.01}))


def test_a_film_as_made_in_the_layout_and_among_diffusers() -> None:
    text = (ROOT / "scenes" / "d_split_film.toml").read_text()
    keys = 'kind = "prism_film"\nbase_index = 1.65\nback_haze = '
    found = []
    for haze in (0.2, 0.9):
        lamp = parse_scene(text.replace('kind = "prism_film"', f"{keys}{haze}"))
        assert "on n = 1.65" in scene_summary(lamp)
        assert "flat side matt" in scene_summary(lamp)
        found.append([sheet.z_mm for sheet in diffusers_before_panel(lamp)])
    assert found == [[], [14.0]]


@pytest.mark.parametrize(
    ("focal", "heading"), [(180.0, "1 warning:"), (120.0, "1 warning:"), (60.0, "2 warnings:")]
)
def test_warnings_are_counted_and_fit_80_columns(lamp: Lamp, focal: float, heading: str) -> None:
    told = warnings_text(lamp({"train.field_lens.focal_mm": focal}))
    assert told.startswith(heading)
    assert max(map(len, told.splitlines())) <= 80


def test_a_lamp_that_reaches_the_edges_has_no_warnings(lamp: Lamp) -> None:
    assert warnings_text(lamp({"emitters.bars.columns": 18})) == "No warnings."


def test_no_film_and_one_emitter_leave_the_section_out(lamp: Lamp) -> None:
    assert "Emitters and films" not in scene_summary(lamp(name="point_lamp"))
