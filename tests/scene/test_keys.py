"""The keys of a scene file, as `photonsim keys` and the page about scene files tell them."""

import re
import tomllib

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.scene import Scene, SceneError, load_scene
from photonsim.scene.keys import sections, sections_named
from photonsim.summary.keys_text import keys_text
from tests.shipped import SCENES


def test_the_variants_on_the_page_are_variants():
    page = (SCENES[0].parent / "README.md").read_text(encoding="utf-8")
    shown = re.search(r"```toml\n(.*?)```", page, re.DOTALL)[1]
    # The light of this lamp has wavelengths to vary.
    lamp = load_scene(next(path for path in SCENES if path.stem.startswith("h")))
    variants = tomllib.loads(shown)["variants"]
    lamp = lamp.model_copy(update={"variants": variants})
    assert all(isinstance(lamp.variant(name), Scene) for name in variants)
    assert "mist" in lamp.variant("hazy").train and "film" not in lamp.variant("bare").train
    assert lamp.variant("hazy").light.wavelengths_nm[0] == 460.0


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_every_key_of_the_shipped_scenes_is_listed(path):
    known = {key.name for section in sections() for key in section.keys}

    def keys_in(table):
        for key, value in table.items():
            if isinstance(value, dict):
                yield from keys_in(value)
            else:
                yield key

    assert set(keys_in(tomllib.loads(path.read_text(encoding="utf-8")))) <= known


def test_what_is_told_of_a_key_is_what_is_checked():
    """By hand, from what the readers refuse: limits with and without the end itself."""
    told = {(section.name, key.name): key for section in sections() for key in section.keys}
    assert told["prism_film", "apex_deg"][1:4] == ("°", "40 to 140", "90")
    assert told["diffuser", "haze"].allowed == "0 to below 1"
    assert told["screen", "gain"].allowed == "above 0 to 100"
    assert told["emitters", "columns"].allowed == "1 to 1,000,000"
    assert told["supply.led", "k_per_w"].unit == "K/W"
    assert told["supply.led", "voltage_per_k"].unit == "V/K"
    assert told["panel", "columns"].allowed == "9 or more"
    assert told["strips", "gap_mm"].unit == "mm"
    assert told["light", "wavelengths_nm"][1:3] == ("nm", "a list, each 380 to 780")
    assert all(key.words for key in told.values())


@pytest.mark.parametrize(
    ("word", "headings"),
    [
        ("prism_film", ['[train.NAME] kind = "prism_film"']),
        ("walls", ["[housing.walls]"]),
        ("[housing.walls]", ["[housing.walls]"]),
        ("led", ["[supply.led]"]),
        ("gain", ["[screen]"]),
        ("title", [""]),
    ],
)
def test_keys_are_found_by_table_part_or_name(word, headings):
    assert [section.heading for section in sections_named(word)] == headings


def test_the_command_lists_them_in_80_columns_and_names_the_nearest():
    done = CliRunner().invoke(main, ["keys"])
    assert done.exit_code == 0
    assert max(map(len, done.output.splitlines())) <= 80
    assert "draft_deg" in done.output and "light_kept" in done.output
    wrong = CliRunner().invoke(main, ["keys", "half_angle"])
    assert wrong.exit_code == 2 and "did you mean half_angle_deg" in wrong.output
    with pytest.raises(SceneError, match="there are the tables scene, light"):
        keys_text("qqq")
