"""Commands as a user gives them, from the start of Python to the prompt.

With another version's source tree beside this one, both take turns.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from benchmarks.findings import Claim, Findings, table
from benchmarks.start import Spent, timed
from benchmarks.timing import tell

ROOT = Path(__file__).parents[1]
# Of versions up to 0.3.0.
OLD_ENTRY = "from photonsim.cli import main; main()"
# Another turn only begins within this time: a sweep of 200 points has one.
PATIENCE_S = 25.0
HEAD = ("seconds a command, best", "by the clock", "processor")


class Command(NamedTuple):
    """What is measured: in words, how much faster it is to be, and the command.

    In it {scenes} stands for a version's scenes, {made} for the folder of a result of the lamp.
    """

    words: str
    asked: float
    arguments: tuple[str, ...]


class Version(NamedTuple):
    """A version of photonsim: its source tree, and where it has its files."""

    tree: Path
    made: Path

    def spent(self, arguments: tuple[str, ...]) -> Spent:
        """Run a command and return what it took. Raises CalledProcessError if it failed."""
        words = [each.format(scenes=self.tree / "scenes", made=self.made) for each in arguments]
        with tempfile.TemporaryDirectory() as out:
            words += [] if "--out" in words else ["--out", out]
            entry = ["-m", "photonsim"] if self._has_main else ["-c", OLD_ENTRY]
            command = [sys.executable, "-P", *entry, *words]
            return timed(command, {"PYTHONPATH": str(self.tree)})

    @property
    def _has_main(self) -> bool:
        return (self.tree / "photonsim" / "__main__.py").exists()


def commands_of(
    lamp: str, lamps: Sequence[str], swept: str, points: int, error: float, photons: int
) -> dict[str, Command]:
    """Return the commands that are measured, by a word for each, short ones first.

    Of `lamp`, and of `lamps` that are compared, by the names of their files.
    """
    scene = f"{{scenes}}/{lamp}.toml"
    compared = [f"{{scenes}}/{name}.toml" for name in lamps]
    to_count = ("--photons", str(photons))
    return {
        "first": Command("first photon", 3.0, ("trace", scene, "--photons", "256", "--fresh")),
        "trace": Command(f"trace of {photons:,}", 2.0, ("trace", scene, *to_count, "--fresh")),
        "figures": Command("figures of one result", 3.0, ("figures", f"{{made}}/{lamp}.h5")),
        "compare": Command("compare with pictures", 3.0, ("compare", *compared, *to_count)),
        "sweep": Command(
            f"sweep of {points} points, two threads", 3.0,
            ("sweep", scene, "--range", swept, "0.5", "0.9", str(points), "--threads", "2",
             "--relative-error", str(error), "--fresh"),
        ),
    }  # fmt: skip


def measure_commands(
    findings: Findings,
    commands: Mapping[str, Command],
    lamp: str,
    beside: Path | None,
    repeats: int,
) -> None:
    """Add what commands take, and how much faster they are than another version's, to findings."""
    trees = {"this": ROOT} | ({"beside": beside.resolve()} if beside else {})
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        versions = {name: Version(tree, Path(folder) / name) for name, tree in trees.items()}
        if commands:
            tell("answers: whatever has to be compiled")
        for version in versions.values() if commands else ():
            scene = f"{{scenes}}/{lamp}.toml"
            version.spent(("trace", scene, "--photons", "1000000", "--out", "{made}"))
        for word, command in commands.items():
            tell(f"answers: {command.words}")
            try:
                best = _taking_turns(command.arguments, versions, repeats)
            except subprocess.CalledProcessError as error:
                tell(f"it failed: {error.stderr.decode(errors='replace')[-300:]}")
                continue
            rows += [
                (f"{command.words}, {tree}", f"{spent.clock:.2f}", f"{spent.processor:.2f}")
                for tree, spent in best.items()
            ]
            findings.data[word] = {tree: spent._asdict() for tree, spent in best.items()}
            if beside:
                faster = best["beside"].clock / best["this"].clock
                findings.add(Claim(f"{command.words}, times faster", faster, command.asked))
    if rows:
        findings.tables.append(table(HEAD, rows))


def _taking_turns(
    arguments: tuple[str, ...], versions: Mapping[str, Version], repeats: int
) -> dict[str, Spent]:
    """Return the best of a command run by each version in turn.

    What comes first may have something to fill, and counts only where nothing comes after it.
    """
    found: dict[str, list[Spent]] = {name: [] for name in versions}
    began = time.perf_counter()
    for turn in range(repeats + 1):
        if turn and time.perf_counter() - began > PATIENCE_S:
            break
        for name, version in versions.items():
            found[name].append(version.spent(arguments))
    return {
        name: Spent(*(min(column) for column in zip(*(spent[1:] or spent), strict=True)))
        for name, spent in found.items()
    }
