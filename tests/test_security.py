"""Scene files are data, and code that somebody else could have written is not run."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from photonsim.scene import SceneError, parse_scene
from tests.shipped import SCENES

CACHE = "from photonsim.kernel import kept_code; print(kept_code.folder_of_kept())"


def cache_in(folder: Path) -> str:
    told = subprocess.run(
        [sys.executable, "-c", CACHE],
        env=os.environ | {"PHOTONSIM_CACHE": str(folder)},
        capture_output=True,
        text=True,
        check=True,
    )
    return told.stdout + told.stderr


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="folders have other rights on this system")
@pytest.mark.parametrize("mode", [0o777, 0o770, 0o1777])
def test_a_cache_folder_that_others_can_write_to_is_refused(tmp_path, mode):
    folder = tmp_path / "cache"
    folder.mkdir()
    folder.chmod(mode)
    assert "could be written to by another user" in cache_in(folder)
    folder.chmod(0o700)
    assert str(folder) in cache_in(folder)
    inside = next(folder.glob("kernel-*"))
    inside.chmod(mode)
    assert "could be written to by another user" in cache_in(folder)


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="links need no rights only here")
def test_a_cache_folder_that_is_a_link_is_refused(tmp_path):
    (tmp_path / "real").mkdir(mode=0o700)
    (tmp_path / "link").symlink_to(tmp_path / "real")
    assert "another user" in cache_in(tmp_path / "link")


def test_a_cache_that_cannot_be_made_is_done_without(tmp_path):
    (tmp_path / "file").write_text("no folder")
    assert cache_in(tmp_path / "file").startswith("None\ncompiled code is not kept: ")


@pytest.mark.parametrize(
    "line",
    [
        'title = "{{ 7 * 7 }} ${HOME} %(name)s"',
        "title = \"__import__('os').system('touch owned')\"",
        'notes = "!!python/object/apply:os.system [touch owned]"',
    ],
)
def test_nothing_in_a_scene_is_run_or_filled_in(line, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    body = SCENES[0].read_text("utf-8").split("\n", 5)
    text = "\n".join(part for part in body if not part.startswith("title"))
    text = f"{line}\n" + "\n".join(t for t in text.split("\n") if not t.startswith("title"))
    scene = parse_scene(text)
    assert line.split(" = ", 1)[1].strip('"') == (scene.notes or scene.title)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("key", ["include", "import", "__class__", "model_config"])
def test_a_key_that_would_reach_beyond_the_scene_is_unknown(key):
    with pytest.raises(SceneError, match="unknown key"):
        parse_scene(f'{key} = "../secret.toml"\n' + SCENES[0].read_text("utf-8"))
