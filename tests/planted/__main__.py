"""`python -m tests.planted [--quick] [--only WORD]`: plant, run what must notice, report."""

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


@click.command()
@click.option("--quick", is_flag=True, help="Only the two that continuous integration plants.")
@click.option("--only", default="", help="Only faults whose name holds this.")
@click.option("--report", type=click.Path(path_type=Path), default=REPORT, show_default=True)
def main(quick: bool, only: str, report: Path) -> None:
    """Plant every fault in turn; write the report and exit with 1 if one went unnoticed."""
    chosen = [f for f in FAULTS if only in f.name and (not quick or f.name in QUICK)]
    rows, missed = [], 0
    for fault in chosen:
        start = time.perf_counter()
        caught = caught_by(fault)
        missed += not caught
        rows.append(f"| {fault.name} | `{fault.path}` | {caught or '**nothing**'} |")
        click.echo(f"{rows[-1]} {time.perf_counter() - start:.0f} s")
        if not quick and not only:
            report.write_text(written(rows, missed), "utf-8")
    click.echo(f"{len(chosen)} faults planted, {len(chosen) - missed} caught")
    sys.exit(1 if missed else 0)


def caught_by(fault: Fault) -> str:
    """Return the test that fails with the fault planted, or nothing."""
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        for name in ("photonsim", "tests", "scenes"):
            shutil.copytree(ROOT / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
        shutil.copy(ROOT / "pyproject.toml", copy)
        source = copy / "photonsim" / fault.path
        text = source.read_text("utf-8")
        if text.count(fault.right) != 1:
            raise click.ClickException(f"{fault.path} does not hold once: {fault.right}")
        source.write_text(text.replace(fault.right, fault.wrong), "utf-8")
        surroundings = os.environ | {"PYTHONPATH": str(copy)}
        if fault.path.startswith("kernel/"):
            # Less optimised code is compiled in half the time, and wrong all the same.
            surroundings |= {"PHOTONSIM_CACHE": str(copy / "cache"), "NUMBA_OPT": "1"}
            (copy / "cache").mkdir(mode=0o700)
        command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider"]
        ended = subprocess.run(
            [*command, *fault.tests], cwd=copy, env=surroundings, capture_output=True, text=True
        )
        failed = re.search(r"^FAILED (\S+)", ended.stdout, re.MULTILINE)
        if ended.returncode == 1 and failed:
            return f"`{failed.group(1)}`"
        if ended.returncode != 0:
            raise click.ClickException(f"{fault.name}: {ended.stdout[-3000:]}{ended.stderr[-500:]}")
        return ""


def written(rows: list[str], missed: int) -> str:
    """Return the report as Markdown."""
    return (
        "# Planted faults\n\n"
        f"{len(rows)} faults were planted one at a time, {len(rows) - missed} of them caught: by "
        "the first test named, which is one of the area that the fault lies in.\n"
        "Made by `python -m tests.planted`.\n\n"
        "| fault | in `photonsim/` | caught by |\n| --- | --- | --- |\n" + "\n".join(rows) + "\n"
    )


if __name__ == "__main__":
    main()
