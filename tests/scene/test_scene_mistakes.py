"""Every broken scene in broken/ is refused with exactly the lines that it expects."""

import pickle
import re
import time
from pathlib import Path

import pytest

from photonsim.scene import SceneError, Unfinished, load_scene, parse_scene
from photonsim.scene.writing import to_toml
from photonsim.supply.plan import has_supply, supply_plan

HERE = Path(__file__).parent
BROKEN = sorted((HERE / "broken").glob("*.toml"))
UNFINISHED = sorted((HERE / "unfinished").glob("*.toml"))


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_broken_scene_tells_exactly_what_is_wrong(path: Path) -> None:
    expected = re.findall(r"^# expect: (.*)$", path.read_text("utf-8"), re.MULTILINE)
    with pytest.raises(SceneError) as caught:
        load_scene(path)
    assert [str(mistake) for mistake in caught.value.mistakes] == expected
    count = f"{len(expected)} mistake{'' if len(expected) == 1 else 's'}"
    assert str(caught.value).splitlines()[0] == f"{path}: {count}"


@pytest.mark.parametrize("path", UNFINISHED, ids=lambda path: path.stem)
def test_a_supply_with_mistakes_stops_nobody_but_the_plan(path: Path) -> None:
    expected = re.findall(r"^# expect: (.*)$", path.read_text("utf-8"), re.MULTILINE)
    scene = load_scene(path)
    assert isinstance(scene.supply, Unfinished)
    assert [str(mistake) for mistake in scene.supply.mistakes] == expected
    assert parse_scene(to_toml(scene)) == scene
    assert scene.is_same_lamp(scene.with_numbers({"supply": False}))
    with pytest.raises(SceneError) as caught:
        supply_plan(scene)
    assert [str(mistake) for mistake in caught.value.mistakes] == expected
    assert not has_supply(scene)


def test_there_are_enough_broken_scenes() -> None:
    assert len(BROKEN) >= 25
    assert len(UNFINISHED) >= 10


def test_a_mistake_can_be_asked_for_its_path_and_value() -> None:
    with pytest.raises(SceneError) as caught:
        load_scene(HERE / "broken" / "negative_height.toml")
    (mistake,) = caught.value.mistakes
    assert (mistake.path, mistake.value) == ("train.film.z_mm", -3)


def test_an_error_survives_the_way_back_from_a_worker_process() -> None:
    with pytest.raises(SceneError) as caught:
        load_scene(HERE / "broken" / "missing_height.toml")
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        (b"", "the file is empty"),
        (b" \n\t\r\n", "the file is empty"),
        ("title = 'caf\xe9'".encode("latin-1"), "line 1 is not UTF-8 text"),
        ("title = 'lamp'".encode("utf-16"), "line 1 is not UTF-8 text"),
        (b"#" * 1_000_001, "the file is larger than 1 MB"),
        (b"a = " + b"[" * 5000, "the brackets are nested too deeply"),
        (b"a = " + b"9" * 5000, "a whole number has far too many digits"),
        (b"title = 'a'\ntitle = 'b'\n", "this is not TOML"),
    ],
)
def test_unreadable_file_gets_one_sentence(tmp_path: Path, content: bytes, sentence: str) -> None:
    path = tmp_path / "lamp.toml"
    path.write_bytes(content)
    with pytest.raises(SceneError) as caught:
        load_scene(path)
    heading, line = str(caught.value).splitlines()
    assert heading == f"{path}: 1 mistake"
    assert sentence in line


def test_thousands_of_parts_are_refused_before_any_is_looked_at(monkeypatch) -> None:
    """5,000 parts with two mistakes each took 29 s to tell of; the reading of TOML is 0.1 s."""
    parts = "".join(f"[train.p{k}]\nkind = 'clear_plate'\nindx = 1.5\n" for k in range(5000))
    groups = "".join(f"[emitters.g{k}]\nlm63_file = 'lobe.ies'\n" for k in range(5000))
    monkeypatch.setattr("photonsim.scene.scene.mistakes_of", None)
    with pytest.raises(SceneError) as caught:
        parse_scene(groups + parts)
    assert [str(mistake) for mistake in caught.value.mistakes] == [
        "emitters: more than 100 groups",
        "train: more than 200 parts",
    ]


def test_files_that_a_scene_names_are_not_read_for_thousands_of_groups(
    tmp_path: Path, monkeypatch
) -> None:
    groups = "".join(f"[emitters.g{k}]\nlm63_file = 'lobe.ies'\n" for k in range(101))
    (tmp_path / "lamp.toml").write_text(groups, "utf-8")
    monkeypatch.setattr("photonsim.scene.loading.take_in", None)
    with pytest.raises(SceneError, match="more than 100 groups"):
        load_scene(tmp_path / "lamp.toml")


def test_a_mistake_in_each_of_many_numbers_is_told_in_seconds() -> None:
    """Comparing each mistake with all others took minutes for 30,000 of them."""
    text = (HERE / "backdrop.toml").read_text("utf-8")
    spans = ", ".join(f"[{k}.5, 'x']" for k in range(9000))
    began = time.process_time()
    with pytest.raises(SceneError, match="and 8,9"):
        parse_scene(
            text + f"\n[train.more]\nkind = 'diffuser'\nopal = true\n"
            f"z_mm = 200.0\ntransmittance = 0.5\nstrips.covered_mm = [{spans}]\n"
        )
    assert time.process_time() - began < 5.0


def test_missing_file_and_folder_get_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(SceneError, match="there is no such file"):
        load_scene(tmp_path / "lamp.toml")
    with pytest.raises(SceneError, match="this is a folder"):
        load_scene(tmp_path)


def test_empty_text_asks_for_the_sections() -> None:
    with pytest.raises(SceneError) as caught:
        parse_scene("", "backdrop")
    assert [mistake.path for mistake in caught.value.mistakes] == ["housing", "emitters", "train"]
    assert str(caught.value).startswith("backdrop: 3 mistakes\n")
