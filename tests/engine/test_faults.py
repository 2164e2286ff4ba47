"""Faults: a file is whole or not touched, and what goes wrong is said in one message."""

import signal
import subprocess
import sys

import pytest

from photonsim.engine import run, trace, workers
from photonsim.engine.open_run import OpenRun
from photonsim.results import ResultError, load_result, sole_writer
from photonsim.scene import SceneError
from tests.shipped import scene


def test_two_processes_do_not_write_one_file(tmp_path):
    target = tmp_path / "lamp.h5"
    with sole_writer(target), pytest.raises(ResultError, match="another photonsim"):
        trace(scene("a"), photons=1024, save_to=target)
    trace(scene("a"), photons=1024, save_to=target)
    assert load_result(target).photons == 1024


def test_a_damaged_result_is_not_gone_on_from_and_what_to_do_is_told(tmp_path):
    target = tmp_path / "lamp.h5"
    trace(scene("d"), photons=1000, save_to=target)
    data = bytearray(target.read_bytes())
    data[len(data) // 2] ^= 0x55
    target.write_bytes(data)
    with pytest.raises(ResultError, match=r"changed or damaged.*--fresh keeps it in earlier"):
        trace(scene("d"), photons=2000, save_to=target, resume="saved")
    trace(scene("d"), photons=2000, save_to=target)
    assert [path.read_bytes() for path in (tmp_path / "earlier").iterdir()] == [bytes(data)]


def test_what_is_continued_is_read_when_no_other_process_can_add_to_it(tmp_path, monkeypatch):
    target = tmp_path / "lamp.h5"
    trace(scene("a"), photons=1024, save_to=target)

    def read(path):
        with pytest.raises(ResultError, match="another photonsim"), sole_writer(path):
            pass
        return load_result(path)

    monkeypatch.setattr(run, "load_result", read)
    assert trace(scene("a"), photons=1536, resume="saved", save_to=target).photons == 1536
    assert load_result(target).photons == 1536


def test_a_foreign_file_is_refused_before_anything_is_traced(tmp_path, monkeypatch):
    (tmp_path / "letters.h5").write_text("Dear aunt, the theatre has arrived.")
    monkeypatch.setattr(run.OpenRun, "round", None)
    with pytest.raises(ResultError, match="not a photonsim result"):
        trace(scene("a"), photons=1024, save_to=tmp_path / "letters.h5")


def test_nothing_stays_beside_a_result(tmp_path):
    trace(scene("a"), photons=1024, save_to=tmp_path / "lamp.h5")
    assert [item.name for item in tmp_path.iterdir()] == ["lamp.h5"]


IN_TURN = """
import sys
from pathlib import Path
from photonsim.results import ResultError, sole_writer
target, held = Path(sys.argv[1]), 0
while held < 100:
    try:
        with sole_writer(target):
            mark = target.with_suffix(".mark").open("x")
            mark.close()
            target.with_suffix(".mark").unlink()
            held += 1
    except ResultError as refused:
        assert "another photonsim" in str(refused), refused
"""


def test_the_lock_holds_though_its_file_is_removed_each_time(tmp_path):
    """Three processes take turns; two at once would find each other's mark."""
    command = [sys.executable, "-c", IN_TURN, str(tmp_path / "lamp.h5")]
    turns = [subprocess.Popen(command, stderr=subprocess.PIPE, text=True) for _ in range(3)]
    told = [turn.communicate(timeout=120)[1] for turn in turns]
    assert [turn.returncode for turn in turns] == [0, 0, 0], told
    assert list(tmp_path.iterdir()) == []


def test_what_a_killed_process_left_behind_is_swept_up(tmp_path):
    (tmp_path / ".lamp.h5.4711.part").write_bytes(b"half a file")
    trace(scene("a"), photons=1024, save_to=tmp_path / "lamp.h5")
    assert not list(tmp_path.glob("*.part"))
    assert not list(tmp_path.glob(".lamp.h5.*.part"))


def test_a_fault_in_a_thread_reaches_the_user_as_one_message(monkeypatch, tmp_path):
    target = tmp_path / "lamp.h5"
    trace(scene("a"), photons=1024, save_to=target)

    def broken(*_):
        raise FloatingPointError("the bulb broke")

    earlier = load_result(target)
    monkeypatch.setattr(workers.Worker, "trace", lambda self, first, count, *_: count and broken())
    with pytest.raises(ResultError, match=r"histories 1024 to .*the bulb broke"):
        trace(scene("a"), photons=50_000, resume=earlier, save_to=target)
    monkeypatch.undo()
    assert load_result(target).photons == 1024


@pytest.mark.parametrize("size_kb", [4, 48])
def test_a_full_disk_leaves_the_last_good_file(tmp_path, size_kb):
    """A limit on the size of files stands in for the disk: writing past it fails the same way."""
    pytest.importorskip("resource", reason="POSIX only")
    target = tmp_path / "lamp.h5"
    trace(scene("a"), photons=1024, save_to=target)
    before = target.read_bytes()
    code = (
        "import resource, signal, photonsim\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        f"resource.setrlimit(resource.RLIMIT_FSIZE, ({size_kb} * 1024, {size_kb} * 1024))\n"
        "from photonsim.results import load_result, ResultError\n"
        f"result = load_result({str(target)!r})\n"
        f"try: result.save({str(target)!r})\n"
        "except ResultError as error: print(error)\n"
    )
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert "could not be written" in told.stdout, told.stderr
    assert target.read_bytes() == before
    assert [item.name for item in tmp_path.iterdir() if item.suffix == ".part"] == []


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "lamp").write_text("a file where a folder should be")
    with pytest.raises(ResultError, match=r"(cannot|could not) be written"):
        trace(scene("a"), photons=1024, save_to=tmp_path / "lamp" / "x.h5")


def test_asked_to_end_before_the_first_photon_nothing_is_saved(tmp_path, monkeypatch):
    target = tmp_path / "lamp.h5"
    trace(scene("a"), photons=1024, save_to=target)
    before = target.read_bytes()
    monkeypatch.setattr(
        OpenRun, "compile", lambda self, asked: setattr(asked, "noted", "asked to end (SIGTERM)")
    )
    with pytest.raises(KeyboardInterrupt, match="SIGTERM"):
        trace(scene("a"), photons=10**7, save_to=target)
    assert target.read_bytes() == before


@pytest.mark.parametrize(("there", "kept"), [(102_400, True), (100, False)])
def test_a_fresh_run_broken_off_never_takes_the_place_of_more(tmp_path, monkeypatch, there, kept):
    target = tmp_path / "lamp.h5"
    trace(scene("a"), photons=there, save_to=target)
    before, whole_round = target.read_bytes(), OpenRun.round

    def broken_off(self, *arguments):
        whole_round(self, *arguments)
        signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(OpenRun, "round", broken_off)
    result = trace(scene("a"), photons=10**9, save_to=target)
    assert result.run.status == "partial" and 100 < result.photons < 102_400
    assert (target.read_bytes() == before) == kept
    assert load_result(target).photons == max(there, result.photons)


def test_asked_to_end_while_a_complete_run_is_saved_it_is_saved_and_ends(tmp_path, monkeypatch):
    """Or a command would go on to its next lamp, as if nobody had asked."""
    target, save = tmp_path / "lamp.h5", run.save_traced

    def asked_meanwhile(*arguments):
        signal.raise_signal(signal.SIGINT)
        save(*arguments)

    monkeypatch.setattr(run, "save_traced", asked_meanwhile)
    with pytest.raises(KeyboardInterrupt, match="Ctrl-C"):
        trace(scene("a"), photons=1024, save_to=target)
    assert load_result(target).is_complete


def test_a_scene_that_was_changed_in_memory_past_all_checks_is_told(tmp_path):
    good = scene("d")
    wrong = good.train["film"].model_copy(update={"z_mm": -5.0})
    with pytest.raises(SceneError, match=r"train.film.z_mm = -5.0"):
        trace(good.model_copy(update={"train": good.train | {"film": wrong}}), photons=100)


def test_a_scene_that_was_changed_in_memory_is_saved_as_it_was_traced(tmp_path):
    lamp = scene("d")
    lamp.train["film"] = lamp.train["film"].model_copy(update={"z_mm": 12.0})
    trace(lamp, photons=100, save_to=tmp_path / "lamp.h5")
    assert load_result(tmp_path / "lamp.h5").scene.train["film"].z_mm == 12.0
