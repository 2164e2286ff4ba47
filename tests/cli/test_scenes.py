"""The shipped lamps: listed, and copied without harm to what is there."""

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.scene import load_scene, shipped
from tests.shipped import APART, FOLDER, SCENES


def run(*arguments):
    return CliRunner().invoke(main, ["scenes", *map(str, arguments)])


def test_they_are_listed_by_title():
    done = run()
    assert done.exit_code == 0
    lines = [line.split("  ", 1) for line in done.output.splitlines()]
    lamps = [*SCENES, *APART]
    assert [name for name, *_ in lines] == [path.relative_to(FOLDER).as_posix() for path in lamps]
    assert [title.strip() for _, title in lines] == [load_scene(path).title for path in lamps]


def test_a_copy_is_the_folder_with_the_data_it_names(tmp_path):
    assert run("--copy", tmp_path / "new" / "lamps").exit_code == 0
    others = ("*/*.toml", "*/*.ies", "*/*.md", "*.ipynb", "*.md")
    for path in [*SCENES, *(path for form in others for path in FOLDER.glob(form))]:
        copy = tmp_path / "new" / "lamps" / path.relative_to(FOLDER)
        assert copy.read_bytes() == path.read_bytes()
    load_scene(tmp_path / "new" / "lamps" / "measured" / "oval_lamp.toml")


def test_what_was_changed_moves_aside_and_the_rest_is_left_alone(tmp_path):
    run("--copy", tmp_path)
    changed, same = tmp_path / SCENES[0].name, tmp_path / SCENES[1].name
    changed.write_text("mine", "utf-8")
    before = same.stat().st_mtime_ns
    assert run("--copy", tmp_path).exit_code == 0
    assert changed.read_bytes() == SCENES[0].read_bytes()
    assert (tmp_path / "earlier" / f"{changed.stem}-1.toml").read_text("utf-8") == "mine"
    assert same.stat().st_mtime_ns == before


@pytest.mark.parametrize("there", [True, False])
def test_a_folder_that_cannot_be_and_a_package_without_lamps(tmp_path, monkeypatch, there):
    (tmp_path / "file").write_text("")
    if not there:
        monkeypatch.setattr(shipped, "SOURCE", tmp_path / "gone")
        monkeypatch.setattr(shipped, "INSTALLED", tmp_path / "gone")
    done = run("--copy", tmp_path / "file" / "lamps")
    assert done.exit_code == 2
    assert ("could not be written" if there else "install photonsim again") in done.output
