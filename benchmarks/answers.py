"""How long until an answer: what stands around the tracing, from the command to the last figure.

With another version's source tree beside it, commands of both take turns.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from benchmarks.commands import commands_of, measure_commands
from benchmarks.findings import Claim, Findings, table
from benchmarks.timing import tell
from benchmarks.tracing import shipped, shipped_scene
from photonsim.engine import OpenRun, processors
from photonsim.engine.pilot import pilot
from photonsim.engine.workers import Worker
from photonsim.program import build_program
from photonsim.program.landing import screen_arrays
from photonsim.results import Shown, shown_in
from photonsim.results.files.file import save_traced
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
# As `trace` has it where nothing is said.
SAVE_EVERY_S = 30.0
LARGEST_PANEL = {"train.panel.columns": 1920, "train.panel.rows": 1080}


def answers(
    points: int = 20,
    beside: Path | None = None,
    repeats: int = REPEATS,
    photons: int = 1_000_000,
    only: Collection[str] = (),
) -> Findings:
    """Measure programs, first answers, saving and a study; and commands, also another version's.

    `beside` is the folder that holds the other version's package; `only` names phases: programs,
    numbers, saving, study, first, trace, figures, compare, sweep. Raises KeyError for another one.
    """
    findings = Findings("Answers")
    phases: dict[str, Callable[[], None]] = {
        "programs": partial(_programs, findings, repeats),
        "numbers": partial(_first_answers, findings, repeats),
        "saving": partial(_saving, findings, repeats),
        "study": partial(_study, findings, points),
    }
    there = shipped() if beside is None else (beside / "scenes").glob("*.toml")
    lamps = sorted({path.stem for path in shipped()} & {path.stem for path in there})
    commands = commands_of(LAMP, lamps, BEFORE, points, ERROR, photons)
    chosen = dict.fromkeys(only or [*phases, *commands])
    for word in chosen:
        if word not in commands:
            phases[word]()
    wanted = {word: command for word, command in commands.items() if word in chosen}
    measure_commands(findings, wanted, LAMP, beside, repeats)
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
        findings.add(claim)


def _first_answers(findings: Findings, repeats: int) -> None:
    tell("answers: a changed number to its first answer")
    lamp = shipped_scene(LAMP)
    guide = pilot(lamp, 1)
    for path in (BEFORE, BEHIND):
        values = iter(0.5 + 0.01 * k for k in range(2 * repeats + 2))

        def answer(path: str = path, values: Iterator[float] = values) -> None:
            scale = lamp.stop.diameter_mm if path == BEHIND else 1.0
            changed = lamp.with_numbers({path: scale * next(values)})
            run = OpenRun.of(changed, guide=guide)
            run.go_on(FIRST_PHOTONS)
            result = run.result(with_maps=False)
            for name in shown_in(Shown.TRACE):
                result.estimate(name).text()

        answer()
        best = 1e3 * _least(answer, repeats, time.perf_counter)
        label = f"{path} changed, to {FIRST_PHOTONS:,} photons"
        findings.add(Claim(label, best, 50.0, "ms", least=False))
        findings.data[label] = best


def _saving(findings: Findings, repeats: int) -> None:
    tell("answers: a result of 1920 × 1080 pixels saved")
    run = OpenRun.of(shipped_scene(LAMP).with_numbers(LARGEST_PANEL))
    run.go_on(FIRST_PHOTONS)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "largest.h5"
        best = _least(partial(save_traced, run.result(), file), repeats, time.perf_counter)
        # As a run does it, no thread of which traces meanwhile.
        kept = _least(lambda: save_traced(run.result("partial"), file), repeats, time.perf_counter)
    share = 100.0 * kept / SAVE_EVERY_S
    findings.add(Claim("result of 1920 × 1080 pixels saved", best, 1.0, "s", least=False))
    findings.add(Claim("its checkpoints, of a run's time", share, 2.0, "%", least=False))
    findings.data["saving"] = {"result": best, "checkpoint": kept}


def _study(findings: Findings, points: int) -> None:
    tell(f"answers: a study of {points} points")
    threads = min(2, processors())
    setting = Setting(shipped_scene(LAMP), Effort(ERROR), threads=threads)
    swept = [{BEFORE: 0.5 + 0.4 * k / points} for k in range(points)]
    measure_all(setting, [{BEFORE: 0.95}], Journal(None, {}))
    with _kernel_seconds() as spent:
        began = time.perf_counter()
        records = measure_all(setting, swept, Journal(None, {}))
        wall = time.perf_counter() - began
    share = sum(spent) / (threads * wall)
    findings.add(Claim(f"study on {threads} threads: time in the kernel", share, 0.6))
    findings.data["study"] = {
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
