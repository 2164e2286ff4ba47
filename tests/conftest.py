"""The table at the end of a run: each physics check, its source, what it expected and found."""

from __future__ import annotations

import ast
import inspect
import re
import sys
import textwrap
from collections.abc import Iterator
from typing import Any, NamedTuple

import pytest

# The words by which a check says where its value comes from, the more telling first.
KINDS = ("common practice", "from memory", "published", "derived")
SHOWN = ("physics", "trade", "contract")


class Row(NamedTuple):
    """One check, or the worst of its cases: how likely a right program is to be so far off."""

    check: str
    kind: str
    source: str
    figures: str
    chance: float
    odds: float


ROWS: dict[str, Row] = {}
ODDS: list[float] = []


def _verdicts() -> list[Any]:
    """The helper is imported under two names; each has its list."""
    modules = (sys.modules.get(name) for name in ("chance", "tests.chance"))
    return [verdict for module in modules if module for verdict in module.VERDICTS]


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Iterator[None]:
    """Keep the worst verdict of every check by name; its cases share one row."""
    before = len(_verdicts())
    result = yield
    if item.path.parent.name in SHOWN:
        source, kind = _source_of(item)
        check = f"{item.path.parent.name}/{item.path.stem}::{item.originalname}"  # type: ignore[attr-defined]
        found = _verdicts()[before:]
        ODDS.extend(verdict.odds for verdict in found)
        rows = [Row(check, kind, source, v.figures, v.chance, v.odds) for v in found]
        rows = rows or [Row(check, kind, source, "agrees within the stated tolerance", 1.0, 0.0)]
        worst = min(rows, key=lambda row: row.chance)
        if check not in ROWS or worst.chance < ROWS[check].chance:
            ROWS[check] = worst
    return result


def _source_of(item: pytest.Item) -> tuple[str, str]:
    """Return what a check says of its source, in its first comment or docstring, and its kind."""
    function = item.function  # type: ignore[attr-defined]
    text = textwrap.dedent(inspect.getsource(function))
    told = ast.get_docstring(ast.parse(text).body[0]) or ""  # type: ignore[arg-type]
    if not told:
        found = re.search(r"^def [^\n]*\n((?:    #[^\n]*\n)+)", text, re.MULTILINE)
        told = re.sub(r"^\s*#\s?", "", found.group(1), flags=re.MULTILINE) if found else ""
    whole = inspect.getdoc(inspect.getmodule(function)) or ""
    words = " ".join((told or whole).split())
    kind = next((kind for kind in KINDS if kind in f"{told} {whole}".lower()), "identity")
    return words, kind


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Print the table, and the odds of a false alarm over all of it."""
    if not ROWS:
        return
    terminalreporter.section("checks against the outside world")
    for row in sorted(ROWS.values()):
        terminalreporter.write_line(f"{row.check} [{row.kind}] {row.source[:110]}")
        terminalreporter.write_line(f"    {row.figures}")
    terminalreporter.write_line(
        f"{len(ROWS)} checks, {len(ODDS)} verdicts by chance: a right program fails any of them "
        f"with probability {sum(ODDS):.1g} at most, over all choices of seeds"
    )
