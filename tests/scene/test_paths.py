"""Numbers of a scene by their path: found, named when misspelt, set with the comments kept."""

from pathlib import Path

import pytest

from photonsim.scene import (
    SceneError,
    is_whole,
    load_scene,
    number_at,
    number_paths,
    parse_scene,
    unit_of,
)

FILE = Path(__file__).parents[2] / "scenes" / "d_split_film.toml"
SCENE = load_scene(FILE)


def test_every_listed_path_reads() -> None:
    paths = number_paths(SCENE)
    assert {"emitters.bars.rows", "housing.walls.reflectance", "train.film.z_mm"} <= set(paths)
    assert all(isinstance(number_at(SCENE, path), int | float) for path in paths)


def test_whole_numbers_and_units() -> None:
    assert is_whole(SCENE, "emitters.bars.rows")
    assert not is_whole(SCENE, "train.film.z_mm")
    assert [unit_of(path) for path in ("a.z_mm", "a.half_angle_deg", "a.rows")] == ["mm", "°", ""]


@pytest.mark.parametrize(
    ("wrong", "near"),
    [
        ("train.film.z", "train.film.z_mm"),
        ("trian.film.z_mm", "train.film.z_mm"),
        ("train.film.strips.gap", "train.film.strips.gap_mm"),
        ("emitters.bar.rows", "emitters.bars.rows"),
    ],
)
def test_a_misspelt_path_names_the_nearest(wrong: str, near: str) -> None:
    with pytest.raises(SceneError, match=f"did you mean {near}"):
        number_at(SCENE, wrong)


@pytest.mark.parametrize("wrong", ["", "train film", "emitters.bars.shape", "train.film"])
def test_what_is_no_number_is_refused(wrong: str) -> None:
    with pytest.raises(SceneError):
        number_at(SCENE, wrong)


def test_a_changed_number_is_validated() -> None:
    changed = SCENE.with_numbers({"train.film.z_mm": 15, "emitters.bars.rows": 2.0})
    assert changed.train["film"].z_mm == 15.0
    assert changed.emitters["bars"].rows == 2
    with pytest.raises(SceneError, match="must be greater than"):
        SCENE.with_numbers({"train.film.z_mm": 60})
    with pytest.raises(SceneError, match="whole number"):
        SCENE.with_numbers({"emitters.bars.rows": 2.5})


def test_gap_count_and_ties_follow_from_each_other() -> None:
    pitch = number_at(SCENE, "train.film.strips.pitch_mm")
    gap = SCENE.with_numbers({"train.film.strips.gap_mm": 5.0})
    assert gap.train["film"].strips.width_mm == pytest.approx(pitch - 5.0)
    assert number_at(gap, "train.film.strips.gap_mm") == pytest.approx(5.0)
    for count in (3, 4, 7):
        counted = SCENE.with_numbers({"train.film.strips.count": count})
        assert number_at(counted, "train.film.strips.count") == count
    tied = SCENE.with_numbers(
        {"emitters.bars.pitch_y_mm": 16.0, "train.film.strips.gap_mm": 4.0},
        {"train.film.strips.pitch_mm": "emitters.bars.pitch_y_mm"},
    )
    assert tied.train["film"].strips.pitch_mm == 16.0
    assert tied.train["film"].strips.width_mm == 12.0
    with pytest.raises(SceneError, match="between 0 and the pitch"):
        SCENE.with_numbers({"train.film.strips.gap_mm": 40.0})


def test_the_text_keeps_comments_and_reads_back() -> None:
    values = {"train.film.z_mm": 15.5, "housing.walls.specular_share": 0.25}
    text = SCENE.with_numbers(values).text
    before = [line for line in FILE.read_text(encoding="utf-8").splitlines() if line[:1] == "#"]
    assert [line for line in text.splitlines() if line[:1] == "#"] == before
    assert parse_scene(text) == SCENE.with_numbers(values)


def test_places_in_lists() -> None:
    text = SCENE.text.replace("width_mm = 12.0\npitch_mm = 18.0\noffset_mm = 9.0\n", "@")
    listed = parse_scene(text.replace("@", "covered_mm = [[-20, -8], [8, 20]]\n"))
    path = "train.film.strips.covered_mm[1][0]"
    assert number_at(listed, path) == 8.0
    moved = listed.with_numbers({path: 9.5})
    assert moved.train["film"].strips.covered_mm[1] == (9.5, 20.0)
