"""The writer of files: whole or not at all, nothing lost of anyone else's, links kept."""

import hashlib
import os

import pytest

from photonsim.engine import trace
from photonsim.results import ResultError, load_result
from photonsim.results.files.writing import MOST_EARLIER, WRITTEN, write_file
from tests.shipped import scene


def names(folder):
    return sorted(item.name for item in folder.iterdir() if item.name != WRITTEN)


def test_what_we_wrote_and_nobody_changed_is_replaced(tmp_path):
    for content in (b"one", b"two", b"two", b"one"):
        write_file(tmp_path / "report.md", content)
    assert (tmp_path / "report.md").read_bytes() == b"one"
    assert names(tmp_path) == ["report.md"]


def test_what_was_changed_by_hand_is_kept_and_told_in_a_line(tmp_path, capsys):
    write_file(tmp_path / "report.md", b"one")
    (tmp_path / "report.md").write_bytes(b"one, and what I think of it")
    write_file(tmp_path / "report.md", b"two")
    assert (tmp_path / "earlier" / "report-1.md").read_bytes() == b"one, and what I think of it"
    assert (tmp_path / "report.md").read_bytes() == b"two"
    told = " ".join(capsys.readouterr().err.split())
    assert told.count("is kept as") == 1 and "report-1.md" in told


def test_a_file_of_somebody_elses_is_kept_too(tmp_path):
    (tmp_path / "comparison.csv").write_text("my own table")
    write_file(tmp_path / "comparison.csv", b"a,b\n")
    assert (tmp_path / "earlier" / "comparison-1.csv").read_text() == "my own table"


def test_the_last_twenty_are_kept(tmp_path):
    for number in range(MOST_EARLIER + 5):
        (tmp_path / "notes.md").write_text(f"by hand {number}")
        write_file(tmp_path / "notes.md", b"ours")
    kept = sorted((tmp_path / "earlier").iterdir(), key=lambda item: item.stat().st_mtime_ns)
    assert len(kept) == MOST_EARLIER
    assert {item.read_text() for item in kept} == {f"by hand {k}" for k in range(5, 25)}


def test_what_was_written_can_be_checked_with_other_tools(tmp_path):
    write_file(tmp_path / "a.csv", b"x\n")
    digest, name = (tmp_path / WRITTEN).read_text().split()  # the form of sha256sum
    assert (digest, name) == (hashlib.sha256(b"x\n").hexdigest(), "a.csv")


@pytest.mark.skipif(os.name == "nt", reason="links need rights there")
def test_a_link_stays_a_link_and_what_it_points_to_is_written(tmp_path):
    (tmp_path / "real").mkdir()
    trace(scene("a"), photons=1024, save_to=tmp_path / "real" / "lamp.h5")
    (tmp_path / "lamp.h5").symlink_to(tmp_path / "real" / "lamp.h5")
    trace(scene("a"), photons=2048, save_to=tmp_path / "lamp.h5", resume="saved")
    assert (tmp_path / "lamp.h5").is_symlink()
    assert load_result(tmp_path / "real" / "lamp.h5").photons == 2048


@pytest.mark.parametrize("kind", ["folder", "pipe"])
def test_what_is_no_file_is_left_alone(tmp_path, kind):
    target = tmp_path / "report.md"
    if kind == "folder":
        target.mkdir()
    elif hasattr(os, "mkfifo"):
        os.mkfifo(target)
    else:
        pytest.skip("no pipes here")
    with pytest.raises(ResultError, match="could not be written"):
        write_file(target, b"x")
    assert not target.is_file()


def test_a_result_of_other_numbers_is_kept(tmp_path, capsys):
    target = tmp_path / "lamp.h5"
    trace(scene("a"), photons=1024, save_to=target)
    trace(scene("b"), photons=1024, save_to=target, resume="saved")
    assert "earlier" in capsys.readouterr().err
    assert load_result(target).scene == scene("b")
    assert load_result(tmp_path / "earlier" / "lamp-1.h5").scene == scene("a")
    trace(scene("b"), photons=512, save_to=target)  # fewer of the same, as asked for
    assert load_result(target).photons == 512
    assert load_result(tmp_path / "earlier" / "lamp-2.h5").photons == 1024


def test_more_of_the_same_numbers_replaces_less(tmp_path):
    target = tmp_path / "lamp.h5"
    for photons in (512, 1024, 1024):
        trace(scene("a"), photons=photons, save_to=target)
    assert load_result(target).photons == 1024
    assert names(tmp_path) == ["lamp.h5"]


def test_a_disk_that_is_full_leaves_everything_as_it_was(tmp_path, monkeypatch):
    write_file(tmp_path / "report.md", b"one")
    before = names(tmp_path)

    def full(*_):
        raise OSError(28, "No space left on device")

    for step in ("os.fsync", "os.replace"):
        with monkeypatch.context() as patched:
            patched.setattr(step, full)
            with pytest.raises(ResultError, match="No space left"):
                write_file(tmp_path / "report.md", b"two")
        assert (tmp_path / "report.md").read_bytes() == b"one"
        assert names(tmp_path) == before
