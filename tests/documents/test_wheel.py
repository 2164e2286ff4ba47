"""The wheel holds what a newcomer needs, and the README's commands work from an empty folder."""

import os
import re
import subprocess
import sys
import tomllib
import zipfile

import pytest

from photonsim.scene.shipped import shipped_scenes
from photonsim.version import __version__
from tests.documents.reading import DOCUMENTS, ROOT, name_of
from tests.wheel import built, lowest


def test_the_oldest_versions_are_those_of_the_project():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    pins = lowest(project)
    assert len(pins) == len(project["dependencies"])
    assert lowest({"dependencies": ["numba>=0.60"]}) == ["numba==0.60.*"]


def test_the_version_stands_in_one_place():
    pattern = re.compile(rf'version\w*\s*=\s*"{re.escape(__version__)}"')
    files = [ROOT / "pyproject.toml", *(ROOT / "photonsim").rglob("*.py")]
    found = [path for path in files if pattern.search(path.read_text(encoding="utf-8"))]
    assert [path.name for path in found] == ["version.py"]


@pytest.mark.long
def test_the_wheel_works_from_an_empty_folder(tmp_path):
    wheel = built(tmp_path)
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
    assert {f"photonsim/lamps/{name}" for name in shipped_scenes()} <= names
    pages = {name_of(page) for page in DOCUMENTS if name_of(page).startswith("photonsim")}
    assert pages | {"photonsim/py.typed"} <= names
    assert not [name for name in names if name.startswith(("scenes", "tests"))]
    assert f"photonsim-{__version__}-" in wheel.name
    place = tmp_path / "site"
    pip = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--target", str(place)]
    subprocess.run([*pip, str(wheel)], check=True)
    empty = tmp_path / "empty"
    empty.mkdir()
    for words in (["scenes", "--copy", "scenes"], ["check", "scenes/a_bars.toml"]):
        environment = os.environ | {"PYTHONPATH": str(place)}
        command = [sys.executable, "-m", "photonsim", *words]
        done = subprocess.run(command, cwd=empty, env=environment, capture_output=True, text=True)
        assert done.returncode == 0, done.stderr
    assert (empty / "scenes" / "measured" / "oval_lens.ies").is_file()
