"""What differs between two scenes, in words; what is left out changes nothing that is traced."""

import numpy as np
import pytest

from photonsim.program import Compiled
from photonsim.results import FIGURES
from photonsim.results.optics import optics_of
from photonsim.scene import Housing, Panel, Scene, Screen, changes, shortly
from tests.shipped import scene

FILM = "[train.film]"
# Another value for each key that is said to be unseen.
OTHERS = {
    "gain": 2.5,
    "room_lux": 40.0,
    "watched_from": "rear",
    "mirrors": 3,
    "contrast": 17.0,
    "front_faces": "lamp",
    "cable_width_mm": 24.0,
    "stock_mm": 4.0,
    "title": "Puppets by moonlight",
    "notes": "the sheet was cut anew",
    "supply": None,
    "variants": {"near": {"train": {"film": {"z_mm": 12.0}}}},
}


def changed(lamp: Scene, key: str) -> Scene:
    new = {key: OTHERS[key]}
    if key in Scene.unseen:
        return lamp.model_copy(update=new)
    if key in Housing.unseen:
        return lamp.model_copy(update={"housing": lamp.housing.model_copy(update=new)})
    if key in Screen.unseen:
        return lamp.model_copy(update={"screen": lamp.screen.model_copy(update=new)})
    panel = lamp.panel.model_copy(update=new)
    return lamp.model_copy(update={"train": lamp.train | {lamp.panel_name: panel}})


@pytest.mark.parametrize(
    "key", sorted(Scene.unseen | Screen.unseen | Panel.unseen | Housing.unseen)
)
def test_what_is_unseen_changes_neither_the_program_nor_what_figures_rest_on(key):
    lamp = scene("h")
    other = changed(lamp, key)
    assert other != lamp and changes(lamp, other) == [] and lamp.is_same_lamp(other)
    before, now = Compiled(lamp), Compiled(other)
    for name, one, two in zip(before.program._fields, before.program, now.program, strict=True):
        np.testing.assert_array_equal(one, two, err_msg=name)
    assert before.fate_names == now.fate_names and before.landing == now.landing
    # Figures of merit know the scene by its Optics alone.
    assert FIGURES and optics_of(lamp) == optics_of(other)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("z_mm = 14.0 => z_mm = 13.0", ["train.film.z_mm 14 → 13"]),
        ("index = 1.586 => index = 1.5861", ["train.film.index 1.586 → 1.5861"]),
        ("rows = 3 => rows = 2", ["emitters.bars.rows 3 → 2"]),
        ('ridges = "to_screen" => ridges = "to_lamp"',
         ['train.film.ridges "to_screen" → "to_lamp"']),
        ("transmittance = 0.06 => transmittance = 0.05", ["train.panel.transmittance 0.06 → 0.05"]),
        ("distance_mm = 2950.0 => picture_width_mm = 1500.0",
         ["screen.distance_mm is not there now", "screen.picture_width_mm is new: 1500"]),
        ("shares = [0.03, 0.79, 0.18] => shares = [0.03, 0.78, 0.19]",
         ["light.shares[1] 0.79 → 0.78", "light.shares[2] 0.18 → 0.19"]),
        (f"{FILM} => [train.sheet]",
         ["train.film is not there now", "train.sheet is new"]),
    ],
)  # fmt: skip
def test_changes_are_told_by_path_with_both_values(change, told):
    lamp = scene("h")
    old = change.partition(" => ")[0]
    assert old in lamp.text
    other = scene("h", a=change) if FILM not in old else scene(
        "h", a=change, b="[train.film.strips] => [train.sheet.strips]"
    )  # fmt: skip
    assert sorted(changes(lamp, other)) == sorted(told)
    assert not lamp.is_same_lamp(other)


def test_another_kind_of_part_and_a_longer_list_are_told_in_a_word():
    lamp = scene("h")
    plate = scene("j").train["collimator"]
    other = lamp.model_copy(update={"train": lamp.train | {"film": plate}})
    assert changes(lamp, other) == [f'train.film.kind "prism_film" → "{plate.kind}"']
    light = lamp.light.model_copy(update={"shares": (0.5, 0.5)})
    assert changes(lamp, lamp.model_copy(update={"light": light})) == [
        "light.shares has another form"
    ]


def test_a_line_tells_three_and_counts_the_rest():
    assert shortly(["a 1 → 2", "b 1 → 2", "c 1 → 2"]) == "a 1 → 2, b 1 → 2, c 1 → 2"
    assert shortly(list("abcde")) == "a, b, c and 2 more"
