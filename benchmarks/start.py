"""How long until the first photon: every phase in a process of its own, as a user starts it."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping
from pathlib import Path
from typing import NamedTuple

from benchmarks.findings import Claim, Findings, table
from benchmarks.timing import tell
from benchmarks.tracing import SCENES

REPEATS = 5
SCENE = SCENES / "d_split_film.toml"
COMMAND = [sys.executable, "-c", "from photonsim.cli import main; main()"]
# The first photons: the fewest that are traced at all.
TRACE = [*COMMAND, "trace", str(SCENE), "--photons", "256", "--fresh"]
HELP, WARM = "photonsim --help", "first photon, compiled before"
COLD = "first photon, nothing compiled"
ASKED_S = {HELP: 0.3, WARM: 2.0, COLD: 30.0}
HEAD = ("seconds, a process each", "best", "median", "worst", "of processor")


class Spent(NamedTuple):
    """Seconds by the clock, and those of all processors: less blurred by others at work."""

    clock: float
    processor: float


def start(repeats: int = REPEATS, cold: bool = True) -> Findings:
    """Measure help, import, cold compile and warm start: cold once, the rest `repeats` times."""
    spent: dict[str, list[Spent]] = {}
    with tempfile.TemporaryDirectory() as folder:
        cache = {"PHOTONSIM_CACHE": str(Path(folder) / "cache")} if cold else {}
        trace = [*TRACE, "--out", folder]
        tell("start: first photon, nothing compiled" if cold else "start: first photon")
        first = timed(trace, cache)
        if cold:
            spent[COLD] = [first]
        phases = {
            "python alone": [sys.executable, "-c", ""],
            HELP: [*COMMAND, "--help"],
            "import of the tracer": [sys.executable, "-c", "from photonsim.engine import trace"],
            WARM: trace,
        }
        tell("start: help, import, first photon")
        for _ in range(repeats):
            for phase, command in phases.items():
                spent.setdefault(phase, []).append(timed(command, cache))
    findings = Findings("Start")
    for phase, asked in ASKED_S.items():
        if phase in spent:
            best = min(each.clock for each in spent[phase])
            findings.claims.append(Claim(phase, best, asked, "s", least=False))
    findings.tables.append(table(HEAD, [_row(phase, found) for phase, found in spent.items()]))
    findings.data = {phase: [each._asdict() for each in found] for phase, found in spent.items()}
    return findings


def timed(command: list[str], variables: Mapping[str, str]) -> Spent:
    """Return what a command took. Raises CalledProcessError if it failed.

    Python keeps what it compiled of our sources, whatever is set here: an installed one has it.
    """
    clock, before = time.perf_counter(), os.times()
    given = {**os.environ, "PYTHONDONTWRITEBYTECODE": "", **variables}
    subprocess.run(command, env=given, check=True, capture_output=True)
    after = os.times()
    return Spent(
        time.perf_counter() - clock,
        after.children_user + after.children_system - before.children_user - before.children_system,
    )


def _row(phase: str, found: list[Spent]) -> tuple[str, ...]:
    clocks = [each.clock for each in found]
    figures = (min(clocks), statistics.median(clocks), max(clocks))
    return phase, *(f"{n:.2f}" for n in (*figures, min(each.processor for each in found)))
