"""`python -m tests.fuzz --scenes 5000 --results 500`: the long form; prints all complaints."""

from __future__ import annotations

import sys
import time
from collections import Counter

import click

from tests.fuzz import result_files, scene_files
from tests.fuzz.watched import Case, Watched


@click.command()
@click.option("--scenes", default=5000, show_default=True, help="Spoilt scene files.")
@click.option("--results", default=500, show_default=True, help="Spoilt result files.")
@click.option("--first", default=0, show_default=True, help="Number of the first case.")
def main(scenes: int, results: int, first: int) -> None:
    """Send spoilt files through the commands and tell how each ended."""
    complaints = fuzz("scene files", scene_files.judge, first, scenes)
    complaints += fuzz("result files", result_files.judge, first, results)
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
