"""Every part of the benchmark runs, in its shortest form; how fast is not judged here."""

import json
import os
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from benchmarks import (
    answers,
    guesses,
    machine,
    memory,
    others,
    profile,
    rates,
    ray_engine,
    start,
    tracing,
)
from benchmarks.__main__ import main
from benchmarks.event_counts import EMISSION, events_by_kind, hits_per_history
from benchmarks.findings import RATIO, Claim, claims_table
from photonsim.engine import sample_paths, trace
from photonsim.results import Estimate
from tests.shipped import SCENES, scene
from tests.test_architecture import FILES, imports_of

ROOT = Path(__file__).parents[2]
TINY = 1e-3


@pytest.fixture(autouse=True)
def tiny(monkeypatch):
    monkeypatch.setattr(tracing, "TRIAL", 2_000)
    monkeypatch.setattr(others, "REPLAYED", 500)
    monkeypatch.setattr(others, "ARRAY_CHUNKS", (2_000,))
    monkeypatch.setattr(ray_engine, "CHUNKS", (1_000,))
    monkeypatch.chdir(ROOT)


def test_rates():
    found = rates.rates(TINY, ["d_split_film"])
    assert found.data["d_split_film"]["histories_per_second"]["one"]["best"] > 0.0
    assert [claim.asked for claim in found.claims] == [1.85, 5.0]


def test_the_variance_of_a_pixel_is_that_between_runs():
    maps = [np.full((18, 27), count) for count in (4, 6, 4)]
    # Half the mean square of a difference of 2 is 2, over the square of the mean, 14/3.
    runs = [SimpleNamespace(panel_counts=lambda name, counts=counts: counts) for counts in maps]
    assert rates.pixel_variance(runs) == pytest.approx(2.0 / (14.0 / 3.0) ** 2)


def test_variance_of_the_collected_fraction_over_that_of_independent_draws():
    # Errors of 1 and 3 %: a mean square of 5e-4; 0.5 * 0.5 / 1000 = 2.5e-4.
    estimates = [Estimate(0.4, 0.01), Estimate(0.6, 0.03)]
    runs = [
        SimpleNamespace(photons=1000, estimate=lambda name, found=found: found)
        for found in estimates
    ]
    assert rates.variance_over_independent(runs) == pytest.approx(2.0)


def test_start():
    found = start.start(repeats=1, cold=False)
    assert {start.HELP, start.WARM} <= set(found.data)


def test_answers(monkeypatch):
    monkeypatch.setattr(answers, "ERROR", 0.1)
    inside = answers.answers(2, repeats=1, only=("programs", "numbers", "saving", "study"))
    assert [claim.asked for claim in inside.claims] == [10.0, 1.0, 50.0, 50.0, 1.0, 2.0, 0.6]
    assert 0.0 < inside.data["study"]["kernel_share"] < 1.0
    commands = answers.answers(2, ROOT, 1, 1_000, only=("first", "sweep", "figures"))
    assert [claim.asked for claim in commands.claims] == [3.0, 3.0, 3.0]
    with pytest.raises(KeyError):
        answers.answers(only=("pictures",))


def test_memory():
    found = memory.memory(counts=(1_000,))
    assert min(peak for panel in found.data.values() for peak in panel.values()) > 10**7
    assert [claim.unit for claim in found.claims] == [RATIO, RATIO]


def test_profile():
    found = profile.profile(TINY, replayed=300, repeats=1)
    assert sum(found.data["nanoseconds_each"].values()) > 0.0


def test_the_fit_finds_known_costs():
    counts = np.array([[1.0, 0.0, 2.0], [1.0, 1.0, 0.0], [1.0, 2.0, 2.0], [1.0, 4.0, 1.0]])
    costs = [5.0, 20.0, 3.0]
    assert profile.fitted(counts, counts @ costs) == pytest.approx(costs)


def test_guesses(monkeypatch, capsys):
    monkeypatch.setattr(guesses, "REPEATS", 1)
    monkeypatch.setattr("sys.argv", ["guesses", str(SCENES[0])])
    guesses.main()
    heads, rule, row = (line.strip("|").split("|") for line in capsys.readouterr().out.splitlines())
    assert len(heads) == len(rule) == len(row) == 1 + len(guesses.HEADS)
    assert row[0].strip() == SCENES[0].stem
    assert all(float(cell) > 0.0 for cell in row[1:4])


def test_what_guesses_and_memory_cost_by_hand(monkeypatch, capsys):
    """100 ns a history, 80 with few pixels, 50 by heart: 20 % is memory's, 30 % are guesses'."""
    rates_of = {"fresh": 1e7, "few pixels": 1.25e7, "learnt": 2e7}
    monkeypatch.setattr(guesses, "rate_of", lambda *_: None)
    monkeypatch.setattr(
        guesses,
        "taking_turns",
        lambda turns, repeats: {name: SimpleNamespace(median=rates_of[name]) for name in turns},
    )
    monkeypatch.setattr("sys.argv", ["guesses", str(SCENES[0])])
    guesses.main()
    *_, row = capsys.readouterr().out.splitlines()
    assert row == f"| {SCENES[0].stem} | 100 | 80 | 50 | 20% | 30% |"


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_events_by_kind_sum_to_all_events(path):
    lamp = scene(path.stem)
    result = trace(lamp, photons=2_048)
    kinds = events_by_kind(lamp, sample_paths(lamp, 2_048, guide=result.tallies.guide))
    assert kinds.pop(EMISSION) == 1.0
    assert sum(kinds.values()) == pytest.approx(result.events_per_photon)
    assert hits_per_history(kinds) < sum(kinds.values())


def test_a_peak_is_that_of_the_process_alone():
    held = np.ones(60_000_000)
    script = "from benchmarks.memory import peak_bytes; print(peak_bytes())"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert 10**7 < int(done.stdout) < held.nbytes < memory.peak_bytes()


def test_the_command_prints_ratios_first_and_saves_numbers(tmp_path, capsys):
    saved = tmp_path / "figures.json"
    main(["others", "--seconds", str(TINY), "--json", str(saved)])
    out = capsys.readouterr().out
    assert out.index(RATIO) < out.index("M histories/s")
    text = json.loads(saved.read_text(encoding="utf-8"))
    assert text["machine"]["cores"] >= 1
    assert set(text["parts"]["Beside others"]) == {"d_split_film", "a_bars"}
    assert {"label", "asked", "measured", "unit", "met"} == set(text["claims"][0])


def test_an_unknown_part_is_told(capsys):
    with pytest.raises(SystemExit) as ended:
        main(["weather"])
    assert ended.value.code == 2
    assert "no part 'weather'" in capsys.readouterr().err


def test_claims_say_what_was_asked_and_whether_it_was_met():
    rows = claims_table(
        [
            Claim("seconds to start", 0.2, 0.3, "s", least=False),
            Claim("against arrays", 8.0, 40.0),
            Claim("for the record", 7.0),
        ]
    ).splitlines()
    assert [" ".join(row.split()) for row in rows[2:]] == [
        "against arrays ≥ 40 × 8 × short",
        "for the record 7 ×",
        "seconds to start ≤ 0.3 s 0.2 s met",
    ]


def test_the_program_knows_nothing_of_its_benchmarks():
    imported = {name.split(".")[0] for path in FILES for name in imports_of(path)}
    assert not imported & {"benchmarks", "embreex", "psutil"}


def test_a_busy_machine_is_told():
    facts = machine.facts() | {"load": 5.0, "cores": 2}
    assert "WARNING" in machine.headline(facts)
    assert "WARNING" not in machine.headline(facts | {"load": 0.1})


def test_the_gpu_part_runs_on_a_simulated_one():
    script = (
        "import benchmarks.gpu as gpu, benchmarks.tracing as tracing\n"
        # A pilot of 262,144 histories takes far too long with the compiler off.
        "import photonsim.engine.pilot as pilot\n"
        "pilot.PILOT_PHOTONS = 1\n"
        "gpu.REPEATS, tracing.TRIAL, gpu.MAP_PHOTONS, gpu.PRECISIONS = 1, 20, 20, ['single']\n"
        "found = gpu.gpu(1e-9, long=True, trial=10, compared=10)\n"
        "print(found.data['share_that_agrees_single'])\n"
    )
    simulated = {"NUMBA_ENABLE_CUDASIM": "1", "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": str(ROOT)}
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", script],
        env=os.environ | simulated,
        check=True,
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.stdout.split() == ["1.0"]


def test_without_a_gpu_the_command_says_so():
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-m", "benchmarks", "--device", "cuda"],
        env=os.environ | {"CUDA_VISIBLE_DEVICES": "", "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert done.returncode == 1
    assert "no GPU can be used" in done.stderr
