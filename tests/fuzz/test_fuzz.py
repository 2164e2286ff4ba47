"""The short form of `python -m tests.fuzz`, with other cases."""

import pytest

from tests.fuzz.__main__ import PARTS, fuzz

# Some are seconds each, as they draw or begin a process.
SHORT = {"scenes": 150, "results": 30, "tables": 60, "journals": 80, "lm63": 80, "options": 100}


@pytest.mark.parametrize("what", PARTS)
def test_spoilt(what, capsys):
    case, _ = PARTS[what]
    assert fuzz(what, case, 100_000, SHORT.get(what, 3)) == 0, capsys.readouterr().out
