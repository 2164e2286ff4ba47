"""A run: the ledger closes, and the bits depend on seed and count alone."""

import math
import os
import signal
import subprocess
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import photonsim
from photonsim.engine import sample_paths, trace
from photonsim.engine.rows import MOST_BATCHES, SMALLEST_SHIFT, BatchRows, batch_shift
from photonsim.engine.workers import Worker
from photonsim.kernel import codes
from photonsim.kernel.counting import DEGREE_EDGES, DEGREE_GUESS, degrees_floor
from photonsim.kernel.tallies import COLUMN
from photonsim.kernel.tally import give_up
from photonsim.program import Compiled
from photonsim.results import FIGURES, ResultError, load_result
from tests.same_bits import assert_same_bits
from tests.shipped import SCENES, scene


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_every_shipped_scene_closes_its_ledger_with_the_same_bits_however_it_is_run(path):
    lamp = photonsim.load_scene(path)
    whole = trace(lamp, photons=200_003, seed=7, threads=1)
    assert whole.photons == 200_192 == 782 * 256
    assert sum(fate.photons for fate in whole.fates) == whole.photons
    assert whole.tallies.batches["fates"].sum() == whole.emitted
    assert_same_bits(whole, trace(lamp, photons=200_003, seed=7, threads=2))
    part = trace(lamp, photons=77_777, seed=7, threads=2)
    assert_same_bits(whole, trace(lamp, photons=200_003, seed=7, resume=part))


def test_a_ledger_tells_at_which_edge_of_walls_that_cover_part_of_the_depth_light_escaped():
    """Light leaves sideways by either gap and comes back to the plane of either edge outside it."""
    result = trace(
        scene("d", a="[housing.walls] => [housing.walls]\nfrom_mm = 10.0\nto_mm = 30.0"),
        photons=2000,
    )
    names = [fate.name for fate in result.fates]
    assert len(set(names)) == len(names)
    assert [name for name in names if "edge" in name] == [
        "escaped outside the walls' edge to the lamp",
        "escaped outside the walls' edge to the screen",
    ]


@pytest.mark.long
@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_guards_stay_below_one_in_a_million(path):
    result = trace(photonsim.load_scene(path), photons=20_000_000)
    lost = sum(fate.photons for fate in result.fates if fate.group == "guard")
    assert lost < 20


@pytest.mark.parametrize("letter", ["d", "j"])
def test_histories_in_turn_count_what_each_counts_alone(letter):
    compiled = Compiled(scene(letter))
    alone, in_turn = Worker(compiled, 7), Worker(compiled, 7)
    rows = np.zeros((2, 1, compiled.row_width), np.int64)
    for number in range(301):
        alone.trace(number, 1, 40, rows[0])
    in_turn.trace(0, 301, 40, rows[1])
    np.testing.assert_array_equal(rows[0], rows[1])
    for one, other in zip(alone.maps, in_turn.maps, strict=True):
        np.testing.assert_array_equal(one, other)


def test_angles_are_counted_in_whole_degrees_as_the_arc_sine_tells():
    for degrees in np.linspace(0.0005, 89.9995, 9_000):
        squared = math.sin(math.radians(degrees)) ** 2
        assert degrees_floor(squared, DEGREE_EDGES, DEGREE_GUESS) == int(degrees)


def test_of_histories_given_up_the_lowest_numbers_are_kept_whichever_ended_first():
    lost = np.zeros(4, np.int64)
    for number in (7, 3, 9, 1, 8, 2):
        give_up(lost, np.uint64(number))
    assert lost.tolist() == [6, 1, 2, 3]


def test_sums_of_every_tally_agree_with_each_other():
    result = trace(scene("d"), photons=100_000)
    batches, panel = result.tallies.batches, result.tallies.panel
    incident, collected = batches["incident"].sum(), batches["collected"].sum()
    assert panel[:, :, codes.INCIDENT].sum() == incident == result.tallies.directions.sum()
    assert panel[:, :, codes.COLLECTED].sum() == collected == result.tallies.pupil.sum()
    for name in ("cells", "profile_x", "profile_y", "polar"):
        sums = batches[name].reshape(len(batches[name]), 2, -1).sum(axis=(0, 2))
        assert sums.tolist() == [incident, collected], name
    assert batches["fates"][:, 0].sum() == collected
    assert result.fates[0].photons == collected / result.tallies.counts_per_photon
    np.testing.assert_array_equal(
        panel[:, :, codes.SUM_U :].sum(axis=(0, 1)), batches["direction_sums"].sum(axis=0)
    )


def test_batches_hold_their_own_histories():
    batches = trace(scene("a"), photons=1024).tallies.batches
    for count in (256, 512, 768):
        first = trace(scene("a"), photons=count).tallies.batches
        for name, array in first.items():
            np.testing.assert_array_equal(batches[name][: count // 256], array, err_msg=name)


def test_another_seed_is_other_luck():
    one, other = (trace(scene("a"), photons=50_000, seed=seed) for seed in (1, 2))
    assert (one.tallies.panel != other.tallies.panel).any()


def test_batch_sizes_follow_from_the_count_alone():
    for photons in (1, 255, 256, 8192, 32768, 32769, 10**6, 10**9, 10**14):
        batches = -(-photons >> batch_shift(photons))
        assert batches <= MOST_BATCHES
        if batch_shift(photons) > SMALLEST_SHIFT:
            assert batches > MOST_BATCHES // 2


def test_rows_joined_step_by_step_are_rows_made_at_once():
    rng = np.random.default_rng(5)
    histories = rng.integers(0, 9, (70_000, 3))
    rows, first = BatchRows(3), 0
    for count in (100, 156, 30_000, 1, 9_743, 30_000):
        rows.make_room(first + count)
        piece = rows.rows_for(first, count)
        for number in range(first, first + count):
            piece[(number >> rows.shift) - (first >> rows.shift)] += histories[number]
        rows.add(first, piece)
        first += count
    size = 1 << rows.shift
    expected = [histories[k : k + size].sum(axis=0) for k in range(0, 70_000, size)]
    np.testing.assert_array_equal(rows.rows, expected)


def test_stops_by_relative_error_and_says_so():
    result = trace(scene("f"), relative_error=0.01)
    estimate = result.estimate("collected_fraction")
    assert estimate.relative_error <= 0.01
    assert "relative error of collected fraction" in result.run.stopped_by
    assert result.is_complete


def test_stops_by_time():
    start = time.perf_counter()
    result = trace(scene("f"), seconds=0.5)
    assert "time" in result.run.stopped_by
    assert time.perf_counter() - start < 5.0


@pytest.mark.parametrize(
    ("request_", "word"),
    [
        ({"photons": 0}, "photons"),
        ({"photons": 10**15}, "photons"),
        ({"relative_error": 0.0}, "relative error"),
        ({"relative_error": 0.1, "figure": "glory"}, "glory"),
        ({"seconds": -1.0}, "seconds"),
        ({"seed": -1}, "seed"),
    ],
)
def test_requests_that_make_no_sense_are_refused_in_a_sentence(request_, word):
    with pytest.raises(ResultError, match=word):
        trace(scene("a"), **request_)


def test_a_result_of_another_lamp_or_seed_is_not_continued():
    first = trace(scene("d"), photons=1000)
    # Of the same parts, so that it is counted alike.
    moved = scene("d", a="z_mm = 14.0 => z_mm = 13.5")
    for other in (scene("a"), moved):
        with pytest.raises(ResultError, match="of other photons"):
            trace(other, photons=2000, resume=first)
    with pytest.raises(ResultError, match="seed"):
        trace(scene("d"), photons=2000, seed=2, resume=first)


def test_what_lies_there_of_other_numbers_is_traced_anew_and_a_line_says_why(tmp_path, capsys):
    target = tmp_path / "lamp.h5"
    trace(scene("d"), photons=1000, save_to=target)
    moved = scene("d", a="z_mm = 14.0 => z_mm = 13.5", b="columns = 15 => columns = 14")
    cases = [
        (moved, 1, "emitters.bars.columns 15 → 14, train.film.z_mm 14 → 13.5"),
        (moved, 2, "seed 1 → 2"),
        (scene("d"), 3, "emitters.bars.columns 14 → 15, train.film.z_mm 13.5 → 14; seed 2 → 3"),
    ]
    for lamp, seed, why in cases:
        trace(lamp, photons=1000, seed=seed, save_to=target, resume="saved")
        told = " ".join(capsys.readouterr().err.split())
        aside = tmp_path / "earlier"
        assert told == f"{target}: {why}; traced anew, and the last one moves to {aside}"
    assert len(list(aside.glob("lamp-*.h5"))) == len(cases)
    result = load_result(target)
    replace(result, run=replace(result.run, program_version="0.3.0")).save(target)
    capsys.readouterr()
    trace(scene("d"), photons=1000, seed=3, save_to=target, resume="saved")
    told = " ".join(capsys.readouterr().err.split())
    assert f"{target}: made by photonsim 0.3.0; traced anew" in told


def test_what_no_photon_sees_keeps_the_photons(tmp_path, capsys):
    target = tmp_path / "lamp.h5"
    trace(scene("h"), photons=1000, save_to=target)
    told = scene(
        "h", a="voltage_v = 12.0 => voltage_v = 12.5", b="room_lux = 0.1 => room_lux = 3.0"
    )
    assert trace(told, photons=1500, save_to=target, resume="saved").photons == 1536
    assert " ".join(capsys.readouterr().err.split()) == (
        f"{target}: supply.voltage_v 12 → 12.5, screen.room_lux 0.1 → 3; no photon sees that, so "
        "all of them are kept"
    )
    kept = load_result(target)
    assert kept.scene == told
    assert_same_bits(kept, trace(scene("h"), photons=1500))
    assert not (tmp_path / "earlier").exists()


@pytest.mark.parametrize(
    ("change", "kept"),
    [
        # One group of emitters shares its light among its members alone, however much it is.
        ("flux_lm = 20.0 => flux_lm = 31.0", True),
        # Light that lenses throw back crosses the panel once more.
        ("transmittance = 0.06 => transmittance = 0.09", False),
        ("transmittance = 0.90 => transmittance = 0.80", True),
        # Blur is counted about the place where the screen's picture should be.
        ("distance_mm = 2810.0 => distance_mm = 2811.0", False),
        ("reflectance = 0.10 => reflectance = 0.11", False),
        ("rows = 272 => rows = 270", False),
        ("[train.field_lens] => [train.condenser]", False),
    ],
)
def test_the_program_decides_what_is_traced_anew(tmp_path, change, kept):
    """Taken over or not, the result has every figure of one that was never there before."""
    target = tmp_path / "lamp.h5"
    before = trace(scene("d"), photons=1000, save_to=target)
    lamp = scene("d", a=change)
    found = trace(lamp, photons=1000, save_to=target, resume="saved")
    assert (tmp_path / "earlier").exists() != kept
    anew = trace(lamp, photons=1000)
    assert_same_bits(found, anew)
    assert load_result(target).scene == lamp
    for name in FIGURES:
        one, two = found.estimate(name), anew.estimate(name)
        assert one.text() == two.text(), name
    assert (found.run.program == before.run.program) == kept


@pytest.mark.parametrize("photons", [30_000, 45_000, 60_000])
def test_a_run_is_its_histories_each_once(photons):
    """In however many rounds: the tallies are those of one range traced by one worker.

    At three counts, since one history in the place of another may have met as many surfaces.
    """
    lamp = scene("d")
    result = trace(lamp, photons=photons, seed=4, threads=2)
    compiled = Compiled(lamp, result.tallies.guide)
    worker, row = Worker(compiled, 4), np.zeros((1, compiled.row_width), np.int64)
    worker.trace(0, result.photons, 63, row)
    stayed, went_on = worker.maps.panel[..., 0], worker.maps.panel[..., 1]
    np.testing.assert_array_equal(result.panel_counts("incident"), stayed + went_on)
    np.testing.assert_array_equal(result.panel_counts("collected"), went_on)
    assert result.tallies.batches["events"].sum() == row[0, COLUMN["events"]]


def test_a_result_of_another_version_is_not_continued():
    """Versions may draw otherwise, and then the bits would not be those of one long run."""
    first = trace(scene("a"), photons=1000)
    older = replace(first, run=replace(first.run, program_version="0.1.0"))
    with pytest.raises(ResultError, match=r"photonsim 0\.1\.0"):
        trace(scene("a"), photons=2000, resume=older)


def test_an_interrupt_ends_a_run_with_what_it_has():
    trace(scene("a"), photons=1)  # compiled: a run that is not yet tracing has nothing to save
    threading.Timer(1.0, lambda: os.kill(os.getpid(), signal.SIGINT)).start()
    result = trace(scene("a"), photons=10**12)
    assert not result.is_complete
    assert "Ctrl-C" in result.run.stopped_by
    assert sum(fate.photons for fate in result.fates) == result.photons > 0


def test_a_request_to_end_that_comes_during_a_save_does_not_wait_for_another(tmp_path, monkeypatch):
    saves = []

    def save(result, path, told):
        saves.append(result.photons)
        os.kill(os.getpid(), signal.SIGINT)

    monkeypatch.setattr("photonsim.engine.run.save_traced", save)
    result = trace(scene("a"), photons=10**12, save_to=tmp_path / "a.h5", save_every=0.1)
    assert saves == [result.photons]


def seconds_to_end(running: subprocess.Popen[bytes]) -> float:
    """Wait for a process to end and return how long that took, in seconds of this machine at ease.

    The clock is the processor time of this thread, which does nothing but look: on a machine at
    ease it goes as fast as any other, and while other work holds the machine up, or it is frozen,
    it stands still with the process that is waited for.
    """
    asked, latest = time.thread_time(), time.perf_counter() + 60.0
    while running.poll() is None:
        assert time.perf_counter() < latest, "does not end"
    return time.thread_time() - asked


def wait_for_first_save(running: subprocess.Popen[bytes], target: Path) -> None:
    """Wait until tracing is under way, compiled or not, as the first saved state tells."""
    latest = time.perf_counter() + 120.0
    while not target.exists():
        assert running.poll() is None and time.perf_counter() < latest, running.returncode
        time.sleep(0.05)


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_the_command_saves_on_a_signal_and_goes_on_from_there(tmp_path: Path, number):
    command = [sys.executable, "-m", "photonsim", "trace", str(SCENES[0])]
    command += ["--out", str(tmp_path), "--seed", "5", "--save-every", "0.5"]
    target = tmp_path / f"{SCENES[0].stem}.h5"
    running = subprocess.Popen([*command, "--photons", "1e12"], stderr=subprocess.PIPE)
    wait_for_first_save(running, target)
    running.send_signal(number)
    assert seconds_to_end(running) < 2.0
    assert running.returncode == 128 + number
    assert str(target) in running.stderr.read().decode()
    partial = load_result(target)
    assert partial.run.status == "partial"
    more = partial.photons + 5000
    subprocess.run([*command, "--photons", str(more)], check=True, capture_output=True)
    assert_same_bits(load_result(target), trace(scene("a"), photons=more, seed=5))


@pytest.mark.parametrize("later", [0.0, 0.3])
def test_a_large_panel_too_is_saved_within_two_seconds_of_a_signal(tmp_path: Path, later):
    """With a save every 0.1 s nearly any moment falls into one."""
    large = scene("d", a="columns = 480 => columns = 1920", b="rows = 272 => rows = 1080")
    (tmp_path / "large.toml").write_text(large.text, "utf-8")
    command = [sys.executable, "-m", "photonsim", "trace", str(tmp_path / "large.toml")]
    command += ["--photons", "1e12", "--save-every", "0.1", "--out", str(tmp_path)]
    running = subprocess.Popen(command, stderr=subprocess.PIPE)
    wait_for_first_save(running, tmp_path / "large.h5")
    time.sleep(later)
    running.send_signal(signal.SIGTERM)
    assert seconds_to_end(running) < 2.0
    assert load_result(tmp_path / "large.h5").run.status == "partial"
    assert not list(tmp_path.glob("*.part"))


@pytest.mark.long
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_a_signal_while_the_compiler_is_at_work_ends_the_run_within_two_seconds(tmp_path, number):
    command = [sys.executable, "-m", "photonsim", "trace", str(SCENES[0]), "--photons", "1e9"]
    running = subprocess.Popen(
        [*command, "--out", str(tmp_path / "lamp")],
        env=os.environ | {"PHOTONSIM_CACHE": str(tmp_path / "cold")},
        stderr=subprocess.PIPE,
    )
    assert b"compiling" in running.stderr.readline()
    time.sleep(1.0)
    running.send_signal(number)
    assert seconds_to_end(running) < 2.0
    assert running.returncode == 128 + number
    assert b"broken off" in running.stderr.read()
    assert not list((tmp_path / "lamp").glob("*.h5"))


def test_light_paths_are_those_of_the_run():
    paths = sample_paths(scene("d"), 200, seed=3)
    result = trace(scene("d"), photons=200, seed=3, guide="off")
    counted = {fate.name: fate.photons for fate in result.fates}
    for name in {path.fate for path in paths}:
        assert sum(path.fate == name for path in paths) == counted[name]
    assert all(len(path.points) >= 2 for path in paths)


def test_light_paths_are_traced_until_enough_arrive():
    paths = sample_paths(scene("d"), 0, seed=3, arriving=5)
    assert sum(path.group == "stop" for path in paths) == 5
    assert paths[-1].group == "stop"
    assert [path.number for path in paths] == list(range(len(paths)))
    assert len(sample_paths(scene("d"), 40, seed=3)) == 40
