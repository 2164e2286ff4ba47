"""Variants of a scene, and any value set anew by its path: what holds, what is kept, what is told.

What a change should give is written by hand, as another scene text, and read by the reader.
"""

import math

import numpy as np
import pytest

from photonsim.scene import SceneError, changes, number_at, parse_scene
from photonsim.scene.writing import to_toml
from tests.shipped import scene

LAMP = scene("d")
HAZE = """train.haze.kind = "diffuser"
train.haze.z_mm = 20
train.haze.haze = 0.4
train.haze.transmittance = 0.8
train.haze.reflectance = 0.1
"""


def lamp_with(table: str, name: str = "other"):
    """The split-film lamp with a variant."""
    return parse_scene(f"{LAMP.text}\n[variants.{name}]\n{table}")


def edited(*changed: tuple[str, str]):
    """The split-film lamp with its text edited, as a person would."""
    text = LAMP.text
    for old, new in changed:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return parse_scene(text)


GAP = ("width_mm = 12.0\npitch_mm", "width_mm = 10.0\npitch_mm")
PLACE = ("distance_mm = 2810.0", "picture_width_mm = 1500.0")
FILM = LAMP.text[LAMP.text.index("[train.film]") : LAMP.text.index("[train.panel]")]
ADDED = """[train.haze]
kind = "diffuser"
z_mm = 20.0
haze = 0.4
transmittance = 0.8
reflectance = 0.1

[train.panel]"""


@pytest.mark.parametrize(
    ("table", "by_hand"),
    [
        ("train.film.strips.gap_mm = 8", [GAP]),
        ('"train.film.strips.gap_mm" = 8', [GAP]),
        ("[variants.other.train.film.strips]\ngap_mm = 8", [GAP]),
        ("screen.picture_width_mm = 1500\nscreen.distance_mm = false", [PLACE]),
        ("train.film = false", [(FILM, "")]),
        ("train.film.strips = false", [(FILM[FILM.index("[train.film.strips]") :], "\n")]),
        (HAZE, [("[train.panel]", ADDED)]),
        ("housing.walls.specular_share = 0.9",
         [("reflectance = 0.10", "reflectance = 0.10\nspecular_share = 0.9")]),
        ('train.film.ridges = "to_lamp"', [('ridges = "to_screen"', 'ridges = "to_lamp"')]),
        ("light.wavelengths_nm = [450, 550]",
         [("[housing]", "[light]\nwavelengths_nm = [450, 550]\n[housing]")]),
        ("supply.box.wall_mm = 6", [("[supply.heat_sink]",
                                     "[supply.box]\nwall_mm = 6.0\n[supply.heat_sink]")]),
        ('train.field_lens.kind = "fresnel_lens"\ntrain.field_lens.diameter_mm = false\n'
         "train.field_lens.transmittance = false\ntrain.field_lens.width_mm = 120\n"
         "train.field_lens.height_mm = 90\ntrain.field_lens.index = 1.49",
         [('kind = "ideal_lens"', 'kind = "fresnel_lens"'),
          ("diameter_mm = 130.0\ntransmittance = 0.90",
           "width_mm = 120\nheight_mm = 90\nindex = 1.49")]),
        ("supply = false", [(LAMP.text[LAMP.text.index("[supply]") :], "")]),
    ],
)  # fmt: skip
def test_a_variant_is_the_scene_edited_by_hand(table, by_hand):
    lamp, expected = lamp_with(table), edited(*by_hand)
    found = lamp.variant("other")
    assert found.model_copy(update={"title": LAMP.title}) == expected
    assert found.title == "Bars and film in strips, other"
    assert found.variants == {}
    assert list(found.train) == list(expected.train), "the parts stand in their order"
    assert parse_scene(found.text) == found, "its text is a scene of its own"
    assert "# White packages are Lambertian" in found.text, "comments are kept"
    assert parse_scene(to_toml(lamp)) == lamp
    assert changes(lamp, LAMP) == [], "variants change nothing of the lamp itself"


def test_parts_may_be_added_anywhere_and_read_back():
    lamp = lamp_with(HAZE.replace("haze.z_mm = 20", "haze.z_mm = 10"))
    assert list(lamp.variant("other").train)[:2] == ["haze", "film"]
    plate = {"kind": "clear_plate", "z_mm": 260, "index": 1.5, "width_mm": 90, "height_mm": 90}
    last = LAMP.with_numbers({f"train.pane.{key}": value for key, value in plate.items()})
    assert list(last.train)[-1] == "pane"
    assert parse_scene(last.text) == last
    other = {"width_mm": 1, "height_mm": 1, "z_mm": 5, "flux_lm": 3}
    lit = LAMP.with_numbers({f"emitters.spark.{key}": value for key, value in other.items()})
    assert lit.flux_lm == pytest.approx(LAMP.flux_lm + 3)
    assert parse_scene(lit.text) == lit


@pytest.mark.parametrize(
    ("table", "told"),
    [
        ("train.film.zz_mm = 3", "train.film.zz_mm: the scene has no such key; did you mean"),
        ("train.fylm.z_mm = 3", "no part fylm; did you mean film?"),
        ("emitters.bar.rows = 3", "no group of emitters bar; did you mean bars?"),
        ("train.film = 4", "is a table"),
        ("train = 4", "is a table"),
        ("train.film.z_mm = true", "must be a number, not true or false"),
        ('train.film.z_mm = "14"', "write numbers without quotes"),
        ("emitters.bars.rows = 2.5", "must be a whole number"),
        ("train.film.strips.gap_mm = 40", "must lie between 0 and the pitch"),
        ('train.film.strips.gap_mm = "wide"', "must be a number"),
        ("train.panel = false", "no panel"),
        ("title.words = 3", "no such key"),
        ('"train film" = 3', "no such key"),
        ('"train.film z" = 3', "is not a path"),
        ("train.film.z_mm = 13\n'train.film.z_mm' = 14", "sets train.film.z_mm twice"),
    ],
)
def test_what_is_wrong_with_a_variant_is_told_by_its_path(table, told):
    lamp = lamp_with(table)
    with pytest.raises(SceneError) as caught:
        lamp.variant("other")
    assert told in str(caught.value)


def test_all_mistakes_of_a_variant_are_told():
    lamp = lamp_with("train.film.zz_mm = 3\nemitters.bars.columms = 4")
    with pytest.raises(SceneError) as caught:
        lamp.variant("other")
    assert [mistake.path for mistake in caught.value.mistakes] == [
        "train.film.zz_mm",
        "emitters.bars.columms",
    ]


@pytest.mark.parametrize(
    ("tables", "told"),
    [
        ("[variants.Wide]\n", "variants.Wide: a name begins with a small letter"),
        ("[variants]\nwide = 3", "variants.wide = 3: must be a table"),
        ("[variants.a]\ntrain.film.z_mm = nan", "variants.a.train.film.z_mm = nan"),
        ("[variants.a]\ntrain.film.z_mm = 2020-01-01", "must be a number, text"),
        ("[variants.a.variants.b]\n", "a variant has none of its own"),
    ],
)
def test_what_no_variant_can_be_is_told_with_the_scene(tables, told):
    with pytest.raises(SceneError, match="1 mistake") as caught:
        parse_scene(f"{LAMP.text}\n{tables}")
    assert told in str(caught.value)


def test_what_a_variant_holds_can_be_set_and_what_it_does_not_is_told():
    lamp = lamp_with("train.film.z_mm = 12", "high")
    higher = lamp.with_numbers({"variants.high.train.film.z_mm": 13.0})
    assert higher.variant("high").train["film"].z_mm == 13.0
    with pytest.raises(SceneError, match=r"film\.apex_deg: the scene has no"):
        lamp.with_numbers({"variants.high.train.film.apex_deg": 80.0})


def test_an_unknown_variant_names_the_nearest():
    lamp = lamp_with("train.film.z_mm = 12", "wide")
    with pytest.raises(SceneError, match="did you mean wide"):
        lamp.variant("wise")
    with pytest.raises(SceneError, match="the scene has none"):
        LAMP.variant("wide")


def test_defaults_that_are_not_written_can_be_set_and_read():
    bare = parse_scene(LAMP.text.replace("offset_mm = 9.0\n", ""))
    path = "train.film.strips.offset_mm"
    assert number_at(bare, path) == 0.0
    assert bare.with_numbers({path: 9.0}) == LAMP
    sized = LAMP.with_numbers({"train.film.width_mm": 90})
    assert sized.part_size_mm("film")[0] == 90.0
    assert LAMP.light.wavelengths_nm == (550.0,) and "[light]" not in LAMP.text
    assert LAMP.with_numbers({"light.wavelengths_nm[0]": 460.0}).light.wavelengths_nm == (460.0,)
    with pytest.raises(SceneError, match="is left out; give it a number in the scene first"):
        number_at(LAMP, "train.film.width_mm")


@pytest.mark.parametrize("value", [13, 13.0, np.int64(13), np.float32(13.0), 13.000000000002])
def test_a_number_of_any_kind_is_taken_as_it_would_be_written(value):
    found = LAMP.with_numbers({"train.film.z_mm": value, "emitters.bars.columns": round(value)})
    assert found.train["film"].z_mm == 13.0 and type(found.emitters["bars"].columns) is int
    assert found == LAMP.with_numbers({"train.film.z_mm": 13, "emitters.bars.columns": 13})


@pytest.mark.parametrize("value", [10**400, -(10**400), 1e16, math.inf, math.nan])
@pytest.mark.parametrize(
    "path", ["train.film.z_mm", "emitters.bars.rows", "train.film.strips.count",
             "train.film.strips.gap_mm"]
)  # fmt: skip
def test_numbers_that_no_lamp_has_are_refused(path, value):
    with pytest.raises(SceneError, match="1 mistake"):
        LAMP.with_numbers({path: value})


def test_a_text_that_cannot_be_changed_in_place_is_written_anew():
    text = LAMP.text.replace("[housing.base]", "# [train.panel]\n[housing.base]")
    odd = parse_scene(text.replace("[train.panel]\n# A 4.3", '[ "train" . panel ]\n# A 4.3'))
    values = {path.partition(" = ")[0]: value for path, value in zip(
        HAZE.splitlines(), ("diffuser", 20, 0.4, 0.8, 0.1), strict=True)}  # fmt: skip
    found = odd.with_numbers(values)
    assert list(found.train)[:3] == ["film", "haze", "panel"]
    assert parse_scene(found.text) == found
