"""`python -m tests.planted [--quick] [--only WORD]`: plant, run what must notice, report.

The report keeps what earlier runs found of faults that a run leaves out.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import click

from tests.planted.fault import Fault
from tests.planted.faults import FAULTS, QUICK

ROOT = Path(__file__).parent.parent.parent
REPORT = Path(__file__).parent / "report.md"
MISSED = "**nothing**"


@click.command()
@click.option("--quick", is_flag=True, help="Only the two that continuous integration plants.")
@click.option("--only", default="", help="Only faults whose name or file holds this.")
@click.option("--report", type=click.Path(path_type=Path), default=REPORT, show_default=True)
def main(quick: bool, only: str, report: Path) -> None:
    """Plant every fault in turn; write the report and exit with 1 if one went unnoticed."""
    chosen = [f for f in FAULTS if only in f"{f.name} {f.path}"]
    chosen = [f for f in chosen if f.name in QUICK] if quick else chosen
    found = rows_of(report)
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        for fault in chosen:
            start = time.perf_counter()
            caught = caught_by(fault, Path(folder))
            missed += not caught
            found[fault.name] = f"| {fault.name} | `{fault.path}` | {caught or MISSED} |"
            click.echo(f"{found[fault.name]} {time.perf_counter() - start:.0f} s")
            if not quick:
                report.write_text(written([found.get(f.name, "") for f in FAULTS]), "utf-8")
    click.echo(f"{len(chosen)} faults planted, {len(chosen) - missed} caught")
    sys.exit(1 if missed else 0)


def rows_of(report: Path) -> dict[str, str]:
    """Return the rows of an earlier report by the name of the fault."""
    lines = report.read_text("utf-8").splitlines() if report.exists() else []
    return {line.split(" | ")[0].removeprefix("| "): line for line in lines if "` |" in line}


def caught_by(fault: Fault, copy: Path) -> str:
    """Return the test that fails with the fault planted in a copy, or nothing.

    The copy's folder may hold an earlier one: what it has compiled is used again.
    """
    for name in ("photonsim", "tests", "scenes"):
        shutil.rmtree(copy / name, ignore_errors=True)
        shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", copy)
    source = copy / "photonsim" / fault.path
    text = source.read_text("utf-8")
    if text.count(fault.right) != 1:
        raise click.ClickException(f"{fault.path} does not hold once: {fault.right}")
    source.write_text(text.replace(fault.right, fault.wrong), "utf-8")
    (copy / "cache").mkdir(mode=0o700, exist_ok=True)
    surroundings = os.environ | {"PYTHONPATH": str(copy), "PHOTONSIM_CACHE": str(copy / "cache")}
    if fault.path.startswith("kernel/"):
        # Less optimised code is compiled in half the time, and wrong all the same.
        surroundings |= {"NUMBA_OPT": "1"}
    command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider"]
    ended = subprocess.run(
        [*command, *fault.tests], cwd=copy, env=surroundings, capture_output=True, text=True
    )
    failed = re.search(r"^FAILED (.+?)(?: - |$)", ended.stdout, re.MULTILINE)
    if ended.returncode == 1 and failed:
        return f"`{failed.group(1)}`"
    if ended.returncode != 0:
        raise click.ClickException(f"{fault.name}: {ended.stdout[-3000:]}{ended.stderr[-500:]}")
    return ""


def written(rows: list[str]) -> str:
    """Return the report as Markdown; the row of a fault that was never planted is empty."""
    planted = [row for row in rows if row]
    caught = sum(MISSED not in row for row in planted)
    left = f", {len(rows) - len(planted)} not yet" if len(planted) < len(rows) else ""
    return (
        "# Planted faults\n\n"
        f"{len(planted)} faults were planted one at a time{left}; {caught} of them were caught: by "
        "the first test named, which is one of the area that the fault lies in.\n"
        "Made by `python -m tests.planted`, some rows by its `--only` when a fault or its test was "
        "new.\n\n"
        "| fault | in `photonsim/` | caught by |\n| --- | --- | --- |\n" + "\n".join(planted) + "\n"
    )


if __name__ == "__main__":
    main()
