"""Faults: a file is whole or not touched, and what goes wrong is said in one message."""

import subprocess
import sys

import pytest

from photonsim.engine import trace, worker
from photonsim.results import ResultError, load_result, sole_writer
from tests.shipped import scene


def test_two_processes_do_not_write_one_file(tmp_path):
    target = tmp_path / "lamp.h5"
    with sole_writer(target), pytest.raises(ResultError, match="another photonsim"):
        trace(scene("a"), photons=1000, save_to=target)
    trace(scene("a"), photons=1000, save_to=target)
    assert load_result(target).photons == 1000


def test_what_a_killed_process_left_behind_is_swept_up(tmp_path):
    (tmp_path / ".lamp.h5.4711.part").write_bytes(b"half a file")
    trace(scene("a"), photons=1000, save_to=tmp_path / "lamp.h5")
    assert not list(tmp_path.glob("*.part"))
    assert not list(tmp_path.glob(".lamp.h5.*.part"))


def test_a_fault_in_a_thread_reaches_the_user_as_one_message(monkeypatch, tmp_path):
    target = tmp_path / "lamp.h5"
    trace(scene("a"), photons=1000, save_to=target)

    def broken(*_):
        raise FloatingPointError("the bulb broke")

    earlier = load_result(target)
    monkeypatch.setattr(worker.Worker, "trace", lambda self, first, count, *_: count and broken())
    with pytest.raises(ResultError, match=r"histories 1000 to .*the bulb broke"):
        trace(scene("a"), photons=50_000, resume=earlier, save_to=target)
    monkeypatch.undo()
    assert load_result(target).photons == 1000


@pytest.mark.parametrize("size_kb", [4, 48])
def test_a_full_disk_leaves_the_last_good_file(tmp_path, size_kb):
    """A limit on the size of files stands in for the disk: writing past it fails the same way."""
    pytest.importorskip("resource", reason="POSIX only")
    target = tmp_path / "lamp.h5"
    trace(scene("a"), photons=1000, save_to=target)
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
        trace(scene("a"), photons=1000, save_to=tmp_path / "lamp" / "x.h5")
