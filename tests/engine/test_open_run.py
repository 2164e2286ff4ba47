"""A run that stays open: it stops when asked, and its bits are those of a run that went so far."""

import threading
import time

import pytest

from photonsim.engine import OpenRun, trace
from photonsim.engine.workers import PIECE, workers_of
from photonsim.program import Compiled
from tests.same_bits import assert_same_bits
from tests.shipped import scene


def opened(lamp, threads=2):
    return OpenRun.of(lamp, 5, threads)


@pytest.mark.parametrize("threads", [1, 2])
@pytest.mark.parametrize("photons", [1, 20_000, 32_768, 40_000, 300_000, 2_500_000])
def test_stopped_anywhere_it_is_the_run_that_was_to_end_there(photons, threads):
    lamp = scene("f")
    run = opened(lamp, threads)
    asked = []

    def stop():
        asked.append(1)
        return len(asked) > photons // PIECE

    assert not run.go_on(10**8, stop)
    assert 0 <= run.photons <= photons + threads * PIECE
    if run.photons:
        assert_same_bits(
            run.result(), trace(lamp, photons=run.photons, seed=5, threads=1, guide="off")
        )
    further = run.photons + 12_345
    assert run.go_on(further)
    assert_same_bits(run.result(), trace(lamp, photons=further, seed=5, threads=1, guide="off"))


def test_another_thread_stops_it_soon():
    run, asked_at = opened(scene("d")), []
    run.go_on(1)  # whatever has to be compiled is
    threading.Timer(0.5, lambda: asked_at.append(time.perf_counter())).start()
    assert not run.go_on(10**9, lambda: asked_at)
    # A piece takes 2 ms, a round 300; the machine may be busy.
    assert time.perf_counter() - asked_at[0] < 0.2
    assert run.result().photons == run.photons > PIECE


def test_results_of_an_open_run_are_not_changed_by_going_on():
    run = opened(scene("d"))
    run.go_on(50_000)
    early = run.result()
    run.go_on(90_000)
    assert_same_bits(early, trace(scene("d"), photons=50_000, seed=5, guide="off"))
    assert run.go_on(60_000) and run.photons == 90_000
    assert not run.result(with_maps=False).tallies.panel.size


def test_what_a_rule_stops_goes_on_to_the_same_bits():
    lamp = scene("d")
    earlier = trace(lamp, photons=70_001, seed=5, guide="off")
    compiled = Compiled(lamp)
    run = OpenRun(compiled, 5, workers_of(compiled, 5, "cpu", "double", 1), earlier)
    assert run.photons == 70_001 and run.go_on(140_000)
    assert_same_bits(run.result(), trace(lamp, photons=140_000, seed=5, guide="off"))


def test_a_run_that_is_over_leaves_no_thread():
    """Else processes would be forked beside it: see tests/cli/test_forks.py."""
    before = set(threading.enumerate())
    trace(scene("a"), photons=40_000, threads=2)
    assert set(threading.enumerate()) <= before
