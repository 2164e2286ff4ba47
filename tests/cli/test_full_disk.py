"""A full disk, met by every command that writes: a message, code 2, and all else as it was.

A limit on the size of files stands in for the disk: writing past it fails in the same place.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from photonsim.engine import trace
from tests.shipped import SCENES, scene

pytest.importorskip("resource", reason="POSIX only")
ROOT = Path(__file__).parents[2]
BARS, SPLIT = str(SCENES[0]), str(SCENES[3])
Z = "emitters.bars.z_mm"
STUDY = ["--photons", "300", "--relative-error", "0.5", "--threads", "1", "--out", "out"]
COMMANDS = [
    ["trace", BARS, "--photons", "300", "--out", "out"],
    ["trace", BARS, "--photons", "300", "--fresh", "--out", "out"],
    ["compare", BARS, "--photons", "300", "--out", "out"],
    ["compare", "lamp.h5", "--out", "out"],
    ["report", "lamp.h5", "--out", "out"],
    ["figures", "lamp.h5", "--out", "out"],
    ["preview", "lamp.h5", "--out", "out"],
    ["check", BARS, "--out", "out"],
    ["cut", BARS, "--out", "out"],
    ["supply", SPLIT, "--out", "out"],
    ["supply", SPLIT, "--write", "out/fed.toml"],
    ["sweep", BARS, "--values", Z, "1.8,2", *STUDY],
    ["race", BARS, SPLIT, "--photons", "300", "--out", "out"],
    ["tune", BARS, "--most", "uniformity", "--between", Z, "1.6", "2", "--trials", "2", *STUDY],
    ["tolerance", BARS, "--within", Z, "0.1", "--builds", "100", *STUDY],
    ["fit", BARS, "readings.csv", "--free", "housing.walls.reflectance", "0.1", "0.9",
     "--photons", "1000", "--out", "out"],
]  # fmt: skip


@pytest.fixture
def folder(tmp_path):
    trace(scene("a"), photons=1000).save(tmp_path / "lamp.h5")
    lines = [f"panel,{x},0,{lux},500" for x, lux in ((-40, 15000), (0, 17000), (40, 15000))]
    text = "\n".join(["place,x_mm,y_mm,lux,uncertainty_lux", *lines])
    (tmp_path / "readings.csv").write_text(text)
    out = tmp_path / "out"
    out.mkdir()
    trace(scene("a"), photons=200).save(out / "a_bars.h5")
    (out / "report.html").write_text("by hand")
    (out / "fed.toml").write_text("by hand")
    return tmp_path


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: " ".join(command)[:40])
def test_a_full_disk_is_told_and_harms_nothing(folder, command):
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    limited = (
        "import resource, sys\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (1000, 1000))\n"
        "from photonsim.__main__ import main\n"
        "main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", limited, *command],
        cwd=folder,
        env={"PYTHONPATH": str(ROOT)} | dict(os.environ),
        capture_output=True,
        text=True,
    )
    assert done.returncode == 2, done.stderr
    assert "could not be" in done.stderr and "File too large" in done.stderr
    assert "Traceback" not in done.stderr
    assert {path: path.read_bytes() for path in before} == before
    assert not list(folder.rglob("*.part"))
