"""What assertions compare is kept for the table of checks: here alone, since it takes time."""

from typing import Any

from tests.table import note_assertion


def pytest_assertion_pass(item: Any, lineno: int, orig: str, expl: str) -> None:
    """Keep an assertion that held."""
    note_assertion(expl)
