"""A study can be killed at any time and goes on to the same table; a changed one is refused."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from photonsim.results import ResultError
from photonsim.scene import load_scene
from photonsim.studies.effort import Effort
from photonsim.studies.journal import Journal, differences
from photonsim.studies.points import Setting
from photonsim.studies.sweep import grid, points_from_csv, sample, sweep

ROOT = Path(__file__).parents[2]
SCENE = load_scene(ROOT / "scenes" / "d_split_film.toml")
POINTS = grid({"train.film.z_mm": [10.0, 14.0, 60.0], "train.film.strips.gap_mm": [4.0, 6.0]})
SETTING = Setting(SCENE, Effort(0.05, "near_axis_fraction"), threads=1)


def test_a_kill_costs_nothing_that_was_done(tmp_path: Path) -> None:
    whole = sweep(SETTING, POINTS, tmp_path / "whole").as_csv()
    assert "must be greater than" in whole  # film above the panel: told, and no end of the sweep
    folder = tmp_path / "killed"
    sweep(SETTING, POINTS[:3], folder)
    lines = (folder / "points.jsonl").read_bytes()
    (folder / "points.jsonl").write_bytes(lines[:-20])  # killed while writing
    traced = []
    table = sweep(
        SETTING, POINTS, folder, progress=lambda done, total, record: traced.append(record)
    )
    assert len(traced) == len(POINTS) - 2
    assert table.as_csv() == whole
    again = sweep(SETTING, POINTS, folder, progress=lambda *_: pytest.fail("traced twice"))
    assert again.as_csv() == whole


def test_threads_do_not_matter() -> None:
    one = sweep(SETTING, POINTS[:2])
    many = sweep(Setting(SCENE, SETTING.effort, threads=3), POINTS[:2])
    assert one.as_csv() == many.as_csv()


def test_a_study_that_is_asked_to_end_tells_by_what(tmp_path: Path) -> None:
    """Points are traced in threads, and only the main one hears of a request; 143 follows of it."""

    def ask(done: int, *others: object) -> None:
        if done == 1:
            signal.raise_signal(signal.SIGTERM)

    with pytest.raises(KeyboardInterrupt, match="SIGTERM"):
        sweep(SETTING, POINTS, tmp_path, progress=ask)


def test_a_study_of_another_kind_or_guide_is_told_in_words() -> None:
    kept = {"kind": "race", "guides": ["", ""], "worth": 0.0, "seed": 1}
    other = {"kind": "sweep", "guide": "", "seed": 2}
    assert differences(kept, other) == ["kind of study: was race, now sweep"]
    assert differences(kept, kept | {"guides": ["95c6c40de57b"]}) == ["guides: not the same"]


def test_a_changed_study_is_refused_with_a_choice(tmp_path: Path) -> None:
    sweep(SETTING, POINTS[:1], tmp_path)
    other = SCENE.with_numbers({"train.film.strips.offset_mm": 8.0})
    with pytest.raises(
        ResultError, match=r"scene: train.film.strips.offset_mm 9 → 8[\s\S]*--fresh"
    ):
        sweep(Setting(other, SETTING.effort), POINTS[:1], tmp_path)
    with pytest.raises(ResultError, match=r"relative_error: was 0.05, now 0.01"):
        sweep(Setting(SCENE, Effort(0.01, "near_axis_fraction")), POINTS[:1], tmp_path)
    renamed = SCENE.model_copy(update={"title": "another name"})
    sweep(Setting(renamed, SETTING.effort), POINTS[:1], tmp_path)
    sweep(Setting(other, SETTING.effort, threads=1), POINTS[:1], tmp_path, fresh=True)


def test_a_study_of_an_older_version_is_refused_with_a_choice(tmp_path: Path) -> None:
    older = {**SETTING.definition("sweep"), "program_version": "0.3.0"}
    Journal(tmp_path, older)
    with pytest.raises(ResultError, match=r"made by photonsim 0\.3\.0, which .* --fresh"):
        sweep(SETTING, POINTS[:1], tmp_path)


@pytest.mark.parametrize("spoilt", ["{}", "no json", '{"kind": 1}'])
def test_a_foreign_folder_is_refused(tmp_path: Path, spoilt: str) -> None:
    (tmp_path / "study.json").write_text(spoilt)
    with pytest.raises(ResultError):
        Journal(tmp_path, SETTING.definition("sweep"))


def test_a_changed_line_is_named_and_left_out(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    with Journal(tmp_path, SETTING.definition("sweep")) as journal:
        journal.add("a", {"x": 1})
        journal.add("b", {"x": 12})
    points = tmp_path / "points.jsonl"
    by_hand = points.read_text().replace('"x": 12', '"x": 13') + "garbage\n"
    points.write_text(by_hand)
    with Journal(tmp_path, SETTING.definition("sweep")) as journal:
        assert journal.records == {"a": {"x": 1}}
    told = capsys.readouterr().err
    assert "line 2 was changed" in told and "line 3 was changed" in told
    assert (tmp_path / "earlier" / "points-1.jsonl").read_text() == by_hand
    with Journal(tmp_path, SETTING.definition("sweep")) as journal:
        assert list(journal.records) == ["a"]
    assert capsys.readouterr().err == ""


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no such thing on this system")
@pytest.mark.parametrize("name", ["study.json", "points.jsonl"])
@pytest.mark.parametrize("fresh", [False, True])
def test_a_pipe_is_not_waited_for(tmp_path: Path, name: str, fresh: bool) -> None:
    os.mkfifo(tmp_path / name)
    with pytest.raises(ResultError, match="no ordinary file"):
        Journal(tmp_path, SETTING.definition("sweep"), fresh)


def test_two_processes_do_not_share_a_folder(tmp_path: Path) -> None:
    definition = SETTING.definition("sweep")
    with Journal(tmp_path, definition) as first:
        first.add("a", {"x": 1})
        for fresh in (False, True):
            with pytest.raises(ResultError, match="another photonsim"):
                Journal(tmp_path, definition, fresh)
    with Journal(tmp_path, definition) as second:
        assert second.records == {"a": {"x": 1}}


def test_samples_grow_and_cover_whole_numbers() -> None:
    ranges = {"emitters.bars.rows": (2, 4), "train.film.z_mm": (8.0, 20.0)}
    few, many = (sample(SCENE, ranges, count, seed=5) for count in (20, 60))
    assert many[:20] == few
    assert {point["emitters.bars.rows"] for point in few} == {2, 3, 4}
    assert all(8.0 <= point["train.film.z_mm"] <= 20.0 for point in many)


def test_points_from_a_file(tmp_path: Path) -> None:
    file = tmp_path / "points.csv"
    file.write_text("train.film.z_mm [mm],emitters.bars.rows\n12,3\n14.5,2\n", encoding="utf-8")
    assert points_from_csv(file)[1] == {"train.film.z_mm": 14.5, "emitters.bars.rows": 2.0}
    file.write_text("train.film.z_mm\n12\nx\n")
    with pytest.raises(ResultError, match="line 3"):
        points_from_csv(file)


def test_sigkill_and_resume_from_the_command_line(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "photonsim", "sweep", "scenes/d_split_film.toml"]
    # Two at a time, so that the first is done long before the last on any machine.
    command += ["--range", "train.film.z_mm", "8", "20", "8", "--relative-error", "0.005"]
    command += ["--threads", "2"]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}

    def start(folder: str) -> subprocess.Popen[bytes]:
        out = ["--out", str(tmp_path / folder)]
        return subprocess.Popen(command + out, cwd=ROOT, env=environment, stderr=subprocess.PIPE)

    whole = start("whole")
    assert whole.wait(120) == 0
    killed = start("killed")
    points = tmp_path / "killed" / "points.jsonl"
    give_up = time.monotonic() + 60
    while time.monotonic() < give_up and not (points.exists() and points.read_bytes()):
        time.sleep(0.02)
    killed.kill()
    killed.wait(60)
    done = len(points.read_bytes().splitlines())
    assert 1 <= done < 8
    assert start("killed").wait(120) == 0
    assert (tmp_path / "killed" / "sweep.csv").read_text() == (
        tmp_path / "whole" / "sweep.csv"
    ).read_text()
    keys = [json.loads(line)["key"] for line in points.read_text().splitlines()]
    assert len(keys) == len(set(keys)) == 8
