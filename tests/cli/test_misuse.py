"""Misuse of every command, found by trying: exit code 2 and a word on what is wrong."""

import dataclasses
import os
import struct
import subprocess
import sys
import zlib
from pathlib import Path

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.engine import trace
from photonsim.results import MAPS
from tests.shipped import SCENES, scene

BARS = str(SCENES[0])
ALL = str(SCENES[0].parent)
Z = "emitters.bars.z_mm"
WALLS = "housing.walls.reflectance"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A folder with a result and with files that are not what they seem."""
    found: Path = tmp_path_factory.mktemp("misuse")
    trace(scene("a"), photons=1000).save(found / "lamp.h5")
    (found / "binary.csv").write_bytes(b"\xff\xfe bad")
    (found / "nan.csv").write_text(f"{Z}\nnan\n")
    (found / "endless.csv").write_text(f"place,lux,uncertainty_lux\npanel,{'9' * 200_000},1\n")
    (found / "bomb.png").write_bytes(picture_of(60_000, 60_000))
    (found / "empty").mkdir()
    return found


def picture_of(width: int, height: int) -> bytes:
    """Return a PNG that claims a size and holds nothing."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    body = chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(100))) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


TUNE = ["tune", BARS, "--most", "uniformity", "--between", Z, "1", "2", "--out", "x"]
LENS = ["lens", "--diameter", "50", "--centre", "10", "--edge", "3", "--focal", "80"]


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["trace", BARS, "--photons", "10", "--save-every", "nan"], "finite"),
        (["trace", BARS, "--photons", "10", "--seconds", "inf"], "finite"),
        (["trace", f"{BARS}:wide"], "variants.wide: there is no such variant; the scene has none"),
        (["check", f"{ALL}:wide"], "is of a folder"),
        (["check", BARS, "--set", "title", "a", "--set", "title", "b"], "given twice"),
        (["check", BARS, "--set", "train.fylm.z_mm", "3"], "no part fylm"),
        (["check", BARS, "--set", "housing.depth", "3"], "did you mean housing.depth_mm"),
        (["check", BARS, "--set", "housing.depth_mm", "wide"], "must be a number, not text"),
        (["check", ALL, "--no-trace", "--write", "x.toml"], "takes one scene, and here are 10"),
        (["figures", BARS], "is a scene, not a photonsim result; `photonsim trace"),
        (["figures", ALL], "no results (*.h5) in this folder"),
        (["replay", "lamp.h5", "99999999999999999999"], "range"),
        (["figures", "lamp.h5", "--width-mm", "nan", "--out", "x"], "finite"),
        (["replay", "lamp.h5", "1024"], "no history 1,024; those it holds are 0 to 1,023"),
        (["replay", BARS, "3"], "is a scene, not a photonsim result"),
        (["cut", BARS, "--kerf", "nan"], "finite"),
        (["race", ALL, "--worth", "nan", "--out", "x"], "finite"),
        (["lens", *LENS[1:7], "--focal", "nan"], "finite"),
        ([*LENS, "--z", "-5"], "not in the range 0<=x<=100000"),
        ([*LENS, "--name", "a b]"], "a name begins with a small letter"),
        (["sweep", ALL, "--values", Z, "1", "--out", "x"], "name the file of one"),
        (["tune", ALL, "--most", "uniformity", "--between", Z, "1", "2", "--out", "x"], "of one"),
        (["tolerance", "empty", "--within", Z, "1", "--out", "x"], "no scene files"),
        (["fit", ALL, "binary.csv", "--free", WALLS, "0", "1"], "name the file of one"),
        (["sweep", BARS, "--range", Z, "1", "3", "1000000000", "--out", "x"], "up to 1,000,000"),
        (["sweep", BARS, "--range", Z, "nan", "3", "2", "--out", "x"], "no sense"),
        (["sweep", BARS, "--values", Z, "1,inf,3", "--out", "x"], "no list of numbers"),
        (["sweep", BARS, "--points", "binary.csv", "--out", "x"], "can't be read"),
        (["sweep", BARS, "--values", Z, "1e300", "--out", "x"], "makes no sense"),
        (["sweep", BARS, "--values", "train.panel.columns", "1e300", "--out", "x"], "no sense"),
        (["sweep", BARS, "--values", Z, "2", "--show", "nope", "--out", "x"], "no figure 'nope'"),
        (
            ["sweep", BARS, "--values", Z, "2", "--show", "variation", "--out", "x"],
            "no figure 'variation'",
        ),
        (["sweep", BARS, "--values", Z, "2", "--range", Z, "1", "2", "2", "--out", "x"], "twice"),
        (
            ["sweep", BARS, "--values", Z, "2", "--tie", Z, "housing.depth_mm", "--out", "x"],
            "is to follow another number",
        ),
        (["sweep", BARS, "--values", Z, "2", "--tie", "a.b", "c.d", "--out", "x"], "a.b"),
        (["tolerance", BARS, "--within", Z, "1", "--show", "nope", "--out", "x"], "no figure"),
        (["tolerance", BARS, "--within", Z, "1", "--about", Z, "1", "--out", "x"], "twice"),
        (["tolerance", BARS, "--within", Z, "1e300", "--out", "x"], "no sense"),
        (["tolerance", BARS, "--within", Z, "1", "--builds", "3", "--out", "x"], "100"),
        ([*TUNE, "--least", "uniformity"], "named twice"),
        ([*TUNE, "--between", Z, "1", "2"], "named twice"),
        (
            [*TUNE, "--at-least", "structure", "5", "--at-most", "structure", "3"],
            "cannot both be",
        ),
        ([*TUNE, "--at-least", "structure", "1e300"], "finite"),
        (["tune", BARS, "--most", "nope", "--between", Z, "1", "2", "--out", "x"], "no figure"),
        (["race", ALL, "--figure", "nope", "--out", "x"], "no figure"),
        (["trace", BARS, "--figure", "nope", "--out", "x"], "no figure"),
        (["supply", ALL], "name the file of one"),
        (["figures", "lamp.h5", "lamp.h5", "--out", "x"], "both would be written as lamp"),
        (["trace", BARS, BARS, "--out", "x"], "both would be written as a_bars"),
        (["cut", BARS, BARS, "--out", "x"], "both would be written"),
        (["check", BARS, BARS, "--out", "x"], "both would be written"),
        (["compare", "lamp.h5", "lamp.h5", "--out", "x"], "both would be written"),
        (["sweep", BARS, "--range", Z, "3", "1", "4", "--out", "x"], "the least number first"),
        (["sweep", BARS, "--points", "none.csv", "--out", "x"], "(No such file or directory)"),
        (["sweep", BARS, "--points", "nan.csv", "--out", "x"], "no number"),
        (["sweep", BARS, "--points", "empty", "--out", "x"], "folder"),
        (["sweep", BARS, "--values", Z, "2", "--out", "binary.csv"], "is a file; name a folder"),
        (["fit", BARS, "endless.csv", "--free", WALLS, "0", "1"], "no line of CSV"),
        (["fit", BARS, "empty", "--free", WALLS, "0", "1"], "folder"),
        (["preview", "lamp.h5", "--picture", "bomb.png"], "not a picture"),
        (["preview", "lamp.h5", "--picture", "empty"], "is a folder"),
        (["preview", "lamp.h5", "--picture", "none.png"], "there is no such file"),
        (["report", "lamp.h5", "--study", "lamp.h5"], "not a photonsim study table"),
        (["figures", "lamp.h5", "--out", "lamp.h5"], "lamp.h5 is a file; name a folder"),
        (
            [
                *("tune", BARS, "--most", "uniformity", "--at-least", "collected_lm", "nan"),
                *("--between", Z, "1.6", "2", "--trials", "2", "--out", "x"),
            ],
            "finite",
        ),
    ],
)
def test_misuse_is_told(folder, monkeypatch, arguments, word):
    monkeypatch.chdir(folder)
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 2, done.output
    assert isinstance(done.exception, SystemExit)
    assert word in done.output


@pytest.mark.parametrize(
    "arguments",
    [
        ["check", "pipe.toml"],
        ["compare", "."],
        ["figures", "pipe.toml"],
        ["trace", BARS, "--photons", "10", "--out", "pipes"],
        ["fit", BARS, "pipe.toml", "--free", WALLS, "0", "1"],
        ["sweep", BARS, "--points", "pipe.toml", "--out", "x"],
        ["preview", "pipe.toml"],
    ],
)
def test_a_pipe_that_nobody_writes_to_is_not_waited_for(tmp_path, monkeypatch, arguments):
    if not hasattr(os, "mkfifo"):  # Windows keeps its pipes elsewhere
        return
    monkeypatch.chdir(tmp_path)
    os.mkfifo("pipe.toml")
    Path("pipes").mkdir()
    os.mkfifo(f"pipes/{SCENES[0].stem}.h5")
    done = CliRunner().invoke(main, arguments)
    assert done.exit_code == 2, done.output
    assert "no ordinary file" in done.output


def test_a_spoilt_study_table_is_refused_before_the_library_reads_it(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    sweep = ["sweep", BARS, "--values", Z, "1.6,2", "--relative-error", "0.3", "--out", "study"]
    assert CliRunner().invoke(main, sweep).exit_code == 0
    trace(scene("a"), photons=1000).save("lamp.h5")
    table = Path("study/sweep.h5")
    data = bytearray(table.read_bytes())
    data[len(data) // 2] ^= 0x55
    table.write_bytes(data)
    done = CliRunner().invoke(main, ["report", "lamp.h5", "--study", str(table)])
    assert done.exit_code == 2
    assert "changed or damaged" in done.output


@pytest.mark.parametrize("verb", ["compare", "figures", "preview", "report"])
def test_a_result_without_photons_has_nothing_to_show(tmp_path, verb):
    found = trace(scene("d"), photons=100)
    none = {name: getattr(found.tallies, name) * 0 for name in MAPS}
    batches = {name: array[:0] for name, array in found.tallies.batches.items()}
    tallies = dataclasses.replace(found.tallies, photons=0, batches=batches, **none)
    dataclasses.replace(found, tallies=tallies).save(tmp_path / "lamp.h5")
    asked = [verb, str(tmp_path / "lamp.h5"), "--out", str(tmp_path)]
    done = CliRunner().invoke(main, asked)
    assert done.exit_code == 2 and "holds no photons" in done.output


def test_a_reader_that_has_gone_is_exit_code_1():
    command = [sys.executable, "-m", "photonsim", "check", ALL, "--no-trace", "--verbose"]
    # Nobody has ever read it, so the first word is one too many.
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run(command, stdout=write, stderr=subprocess.PIPE)
    os.close(write)
    assert (done.returncode, done.stderr) == (1, b"")


@pytest.mark.parametrize(("asked", "code"), [(["keys"], 0), (["check", "none.toml"], 2)])
def test_a_command_is_left_when_all_is_tidied_up_and_written(asked, code):
    """It is left without taking Python apart, so nothing may be left for Python to do."""
    script = (
        "import atexit, threading\n"
        "from photonsim import __main__ as command\n"
        "run = command._run\n"
        "def late():\n"
        "    threading.main_thread().join()\n"
        "    print('thread ended')\n"
        "def running():\n"
        "    atexit.register(print, 'tidied up', end='')\n"
        "    threading.Thread(target=late).start()\n"
        "    return run()\n"
        "command._run = running\n"
        "command.main()\n"
    )
    done = subprocess.run([sys.executable, "-c", script, *asked], capture_output=True, text=True)
    assert done.returncode == code, done.stderr
    assert done.stdout.endswith("thread ended\ntidied up")
    assert "Traceback" not in done.stderr
