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

from benchmarks.findings import Claim, Findings, table
from benchmarks.timing import tell
from benchmarks.tracing import SCENES

REPEATS = 5
SCENE = SCENES / "d_split_film.toml"
COMMAND = [sys.executable, "-c", "from photonsim.cli import main; main()"]
# The first photons: the fewest that are traced at all.
TRACE = [*COMMAND, "trace", str(SCENE), "--photons", "256", "--fresh"]
HELP_S, COLD_S, WARM_S = 0.3, 30.0, 2.0


def start(repeats: int = REPEATS, cold: bool = True) -> Findings:
    """Measure help, import, cold compile and warm start; the best of repeats, cold once."""
    findings = Findings("Start")
    seconds: dict[str, list[float]] = {}
    with tempfile.TemporaryDirectory() as folder:
        cache = {"PHOTONSIM_CACHE": str(Path(folder) / "cache")} if cold else {}
        trace = [*TRACE, "--out", folder]
        tell("start: first photon, cold" if cold else "start: first photon")
        first = timed(trace, cache)
        if cold:
            seconds["first photon, nothing compiled"] = [first]
        phases = {
            "python alone": [sys.executable, "-c", ""],
            "photonsim --help": [*COMMAND, "--help"],
            "import photonsim and the tracer": [
                sys.executable,
                "-c",
                "from photonsim.engine import trace",
            ],
            "first photon, compiled before": trace,
        }
        tell("start: help, import, first photon")
        for _ in range(repeats):
            for phase, command in phases.items():
                seconds.setdefault(phase, []).append(timed(command, cache))
    best = {phase: min(found) for phase, found in seconds.items()}
    findings.claims = [
        Claim("photonsim --help", best["photonsim --help"], HELP_S, "s", least=False),
        Claim(
            "warm start to first photon", best["first photon, compiled before"], WARM_S, "s", False
        ),
    ]
    if cold:
        findings.claims.append(
            Claim("cold start, compiler and all", first, COLD_S, "s", least=False)
        )
    rows = [
        (phase, f"{min(found):.2f}", f"{statistics.median(found):.2f}", f"{max(found):.2f}")
        for phase, found in seconds.items()
    ]
    findings.tables.append(table(("seconds, a process each", "best", "median", "worst"), rows))
    findings.data = {"seconds": seconds}
    return findings


def timed(command: list[str], variables: Mapping[str, str]) -> float:
    """Return the seconds that a command took. Raises CalledProcessError if it failed."""
    begin = time.perf_counter()
    subprocess.run(command, env=os.environ | variables, check=True, capture_output=True)
    return time.perf_counter() - begin
