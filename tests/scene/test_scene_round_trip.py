"""A scene written as TOML reads back equal, and a text is kept to the letter."""

import pickle
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from photonsim.scene import (
    Emitter,
    PrismFilm,
    Scene,
    SceneError,
    load_scene,
    parse_scene,
    scene_from_dict,
    validated,
)
from photonsim.scene.plain_text import CONTROL
from photonsim.scene.writing import to_toml

HERE = Path(__file__).parent
SHIPPED = HERE.parents[1] / "scenes"
WHOLE = sorted(HERE.glob("*.toml"))


@pytest.mark.parametrize("path", WHOLE, ids=lambda path: path.stem)
def test_round_trip(path: Path) -> None:
    scene = load_scene(path)
    assert parse_scene(to_toml(scene)) == scene
    assert to_toml(parse_scene(to_toml(scene))) == to_toml(scene)
    assert list(parse_scene(to_toml(scene)).train) == list(scene.train)


def test_text_is_kept_to_the_letter(tmp_path: Path) -> None:
    text = (HERE / "backdrop.toml").read_text("utf-8") + "# glue dries overnight — wait\r\n"
    path = tmp_path / "lamp.toml"
    path.write_bytes(text.encode("utf-8-sig"))  # as some editors on Windows save it
    scene = load_scene(path)
    assert scene.text == text
    assert pickle.loads(pickle.dumps(scene)).text == text
    assert scene == load_scene(HERE / "backdrop.toml"), "the text is no part of equality"


def test_changed_copy_forgets_the_text() -> None:
    scene = load_scene(HERE / "backdrop.toml")
    changed = scene.model_copy(update={"title": "Night scene"})
    assert changed != scene
    assert parse_scene(changed.text).title == "Night scene"
    assert scene.model_copy().text == scene.text


def test_scene_built_in_python_writes_its_kinds() -> None:
    scene = load_scene(HERE / "backdrop.toml")
    train = dict(scene.train)
    train["film"] = PrismFilm(z_mm=20.0, material="acrylic")
    built = Scene(housing=scene.housing, emitters=scene.emitters, train=train)
    assert parse_scene(built.text) == built


def test_scene_is_frozen() -> None:
    scene = load_scene(HERE / "backdrop.toml")
    with pytest.raises(SceneError, match="can't be changed"):
        scene.housing.width_mm = 3.0


# All but what a scene refuses: signals to a terminal, and what turns the way of reading round.
LETTERS = st.characters().filter(lambda letter: not CONTROL.fullmatch(letter))


@given(
    title=st.text(LETTERS, max_size=200),
    notes=st.text(LETTERS | st.sampled_from("\n\r\t"), max_size=300),
)
@example(title="", notes="one\r\ntwo\rthree\n")
@example(title="a\\b", notes='\n\n  said """so""" \\\nend\\')
@settings(max_examples=60, deadline=None, derandomize=True)
def test_any_words_survive(title: str, notes: str) -> None:
    scene = load_scene(HERE / "backdrop.toml")
    worded = scene.model_copy(update={"title": title, "notes": notes})
    assert parse_scene(to_toml(worded)) == worded


@given(place=st.floats(min_value=-50.0, max_value=50.0))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_any_number_survives_to_the_last_bit(place: float) -> None:
    scene = load_scene(HERE / "backdrop.toml")
    bulb = Emitter(width_mm=1, height_mm=1, flux_lm=1, x_mm=place)
    changed = scene.model_copy(update={"emitters": {"bulb": bulb}})
    assert parse_scene(to_toml(changed)).emitters["bulb"].x_mm == place


LEAVES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(),
    st.text(max_size=5),
    st.lists(st.integers(-9, 9), max_size=3),
    st.just([[1, 2], [3]]),
    st.just({}),
    st.just({"kind": "panel"}),
    st.just(10**400),
)


@given(data=st.data())
@settings(max_examples=300, deadline=None, derandomize=True)
def test_anything_at_any_place_is_a_scene_or_a_scene_error(data: st.DataObject) -> None:
    plain = load_scene(HERE / "all_kinds.toml").model_dump(exclude_unset=True)
    table = plain
    while True:
        key = data.draw(st.sampled_from([*table, "stray"]))
        if isinstance(table.get(key), dict) and data.draw(st.integers(0, 5)):
            table = table[key]
            continue
        table[key] = data.draw(LEAVES)
        break
    try:
        scene_from_dict(plain)
    except SceneError as error:
        assert len(str(error).splitlines()) == len(error.mistakes) + 1
        assert all(mistake.path for mistake in error.mistakes)


@pytest.mark.parametrize("path", sorted([*HERE.glob("*.toml"), *SHIPPED.rglob("*.toml")]), ids=str)
def test_a_sound_scene_is_sound_in_memory_too(path: Path) -> None:
    scene = load_scene(path)
    again = validated(scene)
    assert again == scene and again.text == scene.text
