"""Running a command of the program in this process, and what no ending of one may look like."""

from __future__ import annotations

import traceback

from click.testing import CliRunner, Result

from photonsim.cli import main

# A message longer than this is not read by anyone; the summary of 200 parts is.
MOST_LINES = 60


def run(*arguments: object) -> tuple[Result, list[str]]:
    """Run a command; return how it ended and what there is to complain of."""
    ended = CliRunner().invoke(main, [str(argument) for argument in arguments])
    command = " ".join(map(str, arguments))
    complaints = []
    if ended.exception is not None and not isinstance(ended.exception, SystemExit):
        told = "".join(traceback.format_exception(ended.exception))
        complaints.append(f"{command}: {told}")
    elif ended.exit_code not in (0, 2):
        complaints.append(f"{command}: exit code {ended.exit_code}")
    elif ended.exit_code == 2 and not ended.output.strip():
        complaints.append(f"{command}: refused without a word")
    if "Traceback" in ended.output:
        complaints.append(f"{command}: printed a traceback")
    if ended.exit_code == 2 and ended.output.count("\n") > MOST_LINES:
        complaints.append(f"{command}: {ended.output.count(chr(10))} lines of output")
    return ended, complaints
