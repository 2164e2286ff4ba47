"""How long until an answer: what stands around the tracing, from the command to the last figure.

With another version's source tree beside it, commands of both take turns.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from benchmarks.findings import Claim, Findings, table
from benchmarks.start import Spent, timed
from benchmarks.timing import tell
from benchmarks.tracing import SCENES, shipped, shipped_scene
from photonsim.engine import OpenRun, processors
from photonsim.engine.workers import Worker
from photonsim.program import build_program
from photonsim.program.landing import screen_arrays
from photonsim.results import Shown, shown_in
from photonsim.scene import Scene, load_scene
from photonsim.studies.effort import Effort
from photonsim.studies.journal import Journal
from photonsim.studies.points import Setting, measure_all

REPEATS = 5
LAMP = "d_split_film"
# A number before the panel, and one behind it.
BEFORE, BEHIND = "housing.base.reflectance", "train.stop.diameter_mm"
FIRST_PHOTONS = 100_000
ERROR = 0.005
COMMAND = "from photonsim.cli import main; main()"


def answers(
    points: int = 20, beside: Path | None = None, repeats: int = REPEATS, photons: int = 1_000_000
) -> Findings:
    """Measure programs, first answers and a sweep; and commands, with another version's if given.

    `beside` is the folder that holds the other version's package.
    """
    findings = Findings("Answers")
    _programs(findings, repeats)
    _first_answers(findings, repeats)
    _sweep(findings, points)
    _commands(findings, points, beside, repeats, photons)
    return findings


def _programs(findings: Findings, repeats: int) -> None:
    tell("answers: programs of scenes")
    rows, anew, kept = [], [0.0], [0.0]
    for path in shipped():
        lamp = load_scene(path)

        def build(lamp: Scene = lamp) -> None:
            build_program(lamp)

        def build_anew(build: Callable[[], None] = build) -> None:
            screen_arrays.cache_clear()
            build()

        anew.append(1e3 * _least(build_anew, repeats))
        kept.append(1e3 * _least(build, repeats))
        rows.append((path.stem, f"{anew[-1]:.2f}", f"{kept[-1]:.2f}"))
    findings.tables.append(table(("program, ms of processor", "anew", "behind panel kept"), rows))
    findings.data["programs"] = rows
    for words, found, asked in (("anew", anew, 10.0), ("behind panel kept", kept, 1.0)):
        claim = Claim(f"slowest program, {words}", max(found), asked, "ms", least=False)
        findings.claims.append(claim)


def _first_answers(findings: Findings, repeats: int) -> None:
    tell("answers: a changed number to its first answer")
    lamp = shipped_scene(LAMP)
    for path in (BEFORE, BEHIND):
        values = iter(0.5 + 0.01 * k for k in range(2 * repeats + 2))

        def answer(path: str = path, values: Iterator[float] = values) -> None:
            scale = lamp.stop.diameter_mm if path == BEHIND else 1.0
            run = OpenRun.of(lamp.with_numbers({path: scale * next(values)}))
            run.go_on(FIRST_PHOTONS)
            result = run.result(with_maps=False)
            for name in shown_in(Shown.TRACE):
                result.estimate(name).text()

        answer()
        best = 1e3 * _least(answer, repeats, time.perf_counter)
        label = f"{path} changed, to {FIRST_PHOTONS:,} photons"
        findings.claims.append(Claim(label, best, 50.0, "ms", least=False))
        findings.data[label] = best


def _sweep(findings: Findings, points: int) -> None:
    tell(f"answers: a sweep of {points} points")
    threads = min(2, processors())
    setting = Setting(shipped_scene(LAMP), Effort(ERROR), threads=threads)
    swept = [{BEFORE: 0.5 + 0.4 * k / points} for k in range(points)]
    measure_all(setting, [{BEFORE: 0.95}], Journal(None, {}))
    with _kernel_seconds() as spent:
        began = time.perf_counter()
        records = measure_all(setting, swept, Journal(None, {}))
        wall = time.perf_counter() - began
    share = sum(spent) / (threads * wall)
    findings.claims.append(Claim(f"sweep on {threads} threads: time in the kernel", share, 0.6))
    findings.data["sweep"] = {
        "points": points,
        "seconds": wall,
        "kernel_share": share,
        "photons": sum(record["photons"] for record in records),
    }


@contextmanager
def _kernel_seconds() -> Iterator[list[float]]:
    """Collect how long each call of the kernel takes."""
    spent: list[float] = []
    plain = Worker.trace

    def clocked(worker: Worker, *arguments: object) -> None:
        began = time.perf_counter()
        plain(worker, *arguments)  # type: ignore[arg-type]
        spent.append(time.perf_counter() - began)

    Worker.trace = clocked  # type: ignore[assignment, method-assign]
    try:
        yield spent
    finally:
        Worker.trace = plain  # type: ignore[method-assign]


def _commands(
    findings: Findings, points: int, beside: Path | None, repeats: int, photons: int
) -> None:
    scene = str(SCENES / f"{LAMP}.toml")
    commands = {
        "first photon": ["trace", scene, "--photons", "256", "--fresh"],
        f"trace of {photons:,}": ["trace", scene, "--photons", str(photons), "--fresh"],
        f"sweep of {points} points": [
            *("sweep", scene, "--range", BEFORE, "0.5", "0.9", str(points)),
            *("--relative-error", str(ERROR), "--fresh"),
        ],
    }
    asked = (3.0, 2.0, 3.0)
    trees = {"this": Path(__file__).parents[1]} | ({"beside": beside} if beside else {})
    rows = []
    for (words, command), least in zip(commands.items(), asked, strict=True):
        tell(f"answers: {words}")
        best = _taking_turns(command, trees, repeats)
        rows += [
            (f"{words}, {tree}", f"{spent.clock:.2f}", f"{spent.processor:.2f}")
            for tree, spent in best.items()
        ]
        findings.data[words] = {tree: spent._asdict() for tree, spent in best.items()}
        if beside:
            faster = best["beside"].clock / best["this"].clock
            findings.claims.append(Claim(f"{words}, times faster", faster, least))
    findings.tables.append(table(("seconds a command, best", "by the clock", "processor"), rows))


def _taking_turns(command: list[str], trees: dict[str, Path], repeats: int) -> dict[str, Spent]:
    """Return the best of a command run by each tree in turn; a first run, untimed, compiles."""
    found: dict[str, list[Spent]] = {tree: [] for tree in trees}
    for _ in range(repeats + 1):
        for tree, folder in trees.items():
            with tempfile.TemporaryDirectory() as out:
                full = [sys.executable, "-P", "-c", COMMAND, *command, "--out", out]
                found[tree].append(timed(full, {"PYTHONPATH": str(folder.resolve())}))
    return {
        tree: Spent(*(min(column) for column in zip(*spent[1:], strict=True)))
        for tree, spent in found.items()
    }


def _least(
    work: Callable[[], None], repeats: int, clock: Callable[[], float] = time.process_time
) -> float:
    """Return the seconds of the fastest of some repeats."""
    found = []
    for _ in range(repeats):
        began = clock()
        work()
        found.append(clock() - began)
    return min(found)
