"""`python -m tests.fuzz`: the long form, 20,000 cases; prints all complaints."""

from __future__ import annotations

import sys
import time
from collections import Counter

import click

from tests.fuzz import (
    environments,
    journals,
    lm63_files,
    options,
    result_files,
    scene_files,
    table_files,
)
from tests.fuzz.watched import Case, Watched

# What is spoilt, the case that does it, and how many of 20,000 there are.
PARTS: dict[str, tuple[Case, int]] = {
    "scenes": (scene_files.judge, 4000),
    "results": (result_files.judge, 3000),
    "tables": (table_files.judge, 4000),
    "journals": (journals.judge, 3000),
    "lm63": (lm63_files.judge, 3000),
    "options": (options.judge, 2900),
    "environments": (environments.judge, 100),
}


@click.command()
@click.argument("parts", nargs=-1, type=click.Choice(list(PARTS)))
@click.option("--cases", default=20_000, show_default=True, help="Cases if all parts are run.")
@click.option("--first", default=0, show_default=True, help="Number of the first case.")
def main(parts: tuple[str, ...], cases: int, first: int) -> None:
    """Send spoilt files and odd commands through the program and tell how each ended."""
    whole = sum(count for _, count in PARTS.values())
    complaints = 0
    for what in parts or PARTS:
        case, count = PARTS[what]
        complaints += fuzz(what, case, first, max(1, count * cases // whole))
    sys.exit(1 if complaints else 0)


def fuzz(what: str, case: Case, first: int, count: int) -> int:
    """Run cases first .. first + count - 1; print endings and complaints; return their number."""
    watched, endings, complaints = Watched(case), Counter[str](), 0
    start = time.perf_counter()
    for number in range(first, first + count):
        verdict = watched.verdict(number)
        endings[verdict.ending] += 1
        for complaint in verdict.complaints:
            complaints += 1
            click.echo(f"{what} {number}: {complaint}")
    watched.close()
    told = ", ".join(f"{number} {ending}" for ending, number in endings.most_common())
    seconds = time.perf_counter() - start
    click.echo(f"{count} {what}: {told}; {complaints} complaints; {seconds:.0f} s")
    return complaints


if __name__ == "__main__":
    main()
