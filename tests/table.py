"""The table at the end of a run: each check of the physics, its source, expected and found.

Verdicts of chance come from tests/chance.py. In the rooms shown, what `pytest.approx` compares is
noted too, with its relative difference, and any other assertion as pytest writes it out.
"""

from __future__ import annotations

import ast
import contextlib
import inspect
import re
import textwrap
from collections import Counter
from collections.abc import Iterator
from typing import Any, NamedTuple

import numpy as np
import pytest

from tests.chance import VERDICTS

SHOWN = ("physics", "trade", "contract")
# By which words a check says where its value comes from; the first that fits.
KINDS = {
    "common practice": r"common practice",
    "from memory": r"from memory",
    "published": r"\bpublished\b|(?<!check-values )section \d|edition|\bEq\. |\bp\. \d|ASTM|ISO \d"
    r"|LM-63|\((18|19|20)\d\d\)",
    "library": r"\btmm\b|\bnumpy\b|scipy|quadrature|linear algebra",
    "derived": r"\bderived\b|check-values",
}
# No value from outside: what the program says of itself, or what must hold for any program.
WITHIN = "identity"
LONGEST = 110

_APPROX = pytest.approx
_WRAPPED = re.compile(r"np\.\w+\((-?[\w.+-]+)\)")


class Row(NamedTuple):
    """What one check found, by how telling that is: chance, tolerance, or just that it holds."""

    rank: tuple[int, float]
    figures: str


class Check(NamedTuple):
    """A check by name, or the worst of its cases."""

    name: str
    kind: str
    source: str
    row: Row


CHECKS: dict[str, Check] = {}
ODDS: list[float] = []
# What the assertions of the test that runs now have found.
_FOUND: list[Row] = []


class NotingApprox:
    """`pytest.approx`, which also notes the worst of the numbers that it is compared with."""

    __array_ufunc__ = None  # an array on the left leaves the comparison to this one
    __array_priority__ = 100
    __hash__ = None  # type: ignore[assignment]

    def __init__(self, expected: Any, rel: Any = None, abs: Any = None, nan_ok: bool = False):
        self.approx = _APPROX(expected, rel=rel, abs=abs, nan_ok=nan_ok)
        self.expected = expected
        # The defaults are pytest's: 1e-6 of the value unless an absolute tolerance is given alone.
        self.rel = (1e-6 if abs is None else 0.0) if rel is None else rel
        self.abs = 1e-12 if abs is None else abs

    def __eq__(self, found: object) -> bool:
        with contextlib.suppress(TypeError, ValueError):  # words, or nothing: no number to show
            note_numbers(found, self.expected, self.rel, self.abs)
        return bool(found == self.approx)

    def __repr__(self) -> str:
        return repr(self.approx)


def note_numbers(found: Any, expected: Any, rel: float, abs: float) -> None:
    """Keep the pair of numbers that lies farthest apart for its tolerance."""
    theirs = np.asarray(expected, dtype=float)
    ours, theirs = np.broadcast_arrays(np.asarray(found, dtype=float), theirs)
    if not ours.size:
        return
    allowed = np.maximum(rel * np.abs(theirs), abs)
    strain = np.abs(ours - theirs) / np.maximum(allowed, 1e-300)
    worst = np.unravel_index(int(np.argmax(np.nan_to_num(strain))), strain.shape)
    one, other = float(ours[worst]), float(theirs[worst])
    off = one - other
    far = f"relative difference {off / other:+.1e}" if other else f"difference {off:+.1e}"
    figures = f"expected {other:.7g}, found {one:.7g} (± {allowed[worst]:.1g} allowed, {far})"
    _FOUND.append(Row((1, -float(strain[worst])), figures))


def note_assertion(text: str) -> None:
    """Keep an assertion that held as pytest writes it out."""
    line = _WRAPPED.sub(r"\1", text.splitlines()[0])
    short = line if len(line) <= LONGEST else f"{line[: LONGEST - 3]}..."
    # A measured number tells more than a count, and a count more than that something is there.
    telling = 0.0 if re.search(r"\d\.\d", line) else 1.0 if re.search(r"[2-9]", line) else 2.0
    _FOUND.append(Row((2, telling), f"holds: {short}"))


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Iterator[None]:
    """Keep the worst verdict of every check by name; its cases share one row."""
    shown = item.path.parent.name in SHOWN
    VERDICTS.clear()
    _FOUND.clear()
    try:
        pytest.approx = NotingApprox if shown else _APPROX  # type: ignore[assignment]
        result = yield
    finally:
        pytest.approx = _APPROX
    if shown:
        name = f"{item.path.parent.name}/{item.path.stem}::{item.originalname}"  # type: ignore[attr-defined]
        ODDS.extend(verdict.odds for verdict in VERDICTS)
        rows = [Row((0, verdict.chance), verdict.figures) for verdict in VERDICTS]
        worst = min([*rows, *_FOUND, Row((3, 0.0), "holds")], key=lambda row: row.rank)
        if name not in CHECKS or worst.rank < CHECKS[name].row.rank:
            CHECKS[name] = Check(name, *_source_of(item), worst)
    return result


def pytest_terminal_summary(terminalreporter: Any) -> None:
    """Print the table, the checks by kind, and the odds of a false alarm over all of them."""
    if not CHECKS:
        return
    terminalreporter.section("checks against the outside world")
    for check in sorted(CHECKS.values()):
        terminalreporter.write_line(f"{check.name} [{check.kind}] {check.source[:LONGEST]}")
        terminalreporter.write_line(f"    {check.row.figures}")
    kinds = Counter(check.kind for check in CHECKS.values())
    inside = kinds.pop(WITHIN, 0)
    told = ", ".join(f"{count} {kind}" for kind, count in kinds.most_common())
    terminalreporter.write_line(
        f"{kinds.total()} checks against values from outside ({told}); {inside} of identities"
    )
    terminalreporter.write_line(
        f"{len(ODDS)} verdicts by chance: a right program fails any of them with probability "
        f"{sum(ODDS):.1g} at most, over all choices of seeds"
    )


def _source_of(item: pytest.Item) -> tuple[str, str]:
    """Return the kind of a check's source and what the check says of it.

    That is its docstring or first comment, else the docstring of its file, else a comment within.
    """
    function = item.function  # type: ignore[attr-defined]
    text = textwrap.dedent(inspect.getsource(function))
    told = ast.get_docstring(ast.parse(text).body[0]) or ""  # type: ignore[arg-type]
    comments = " ".join(re.findall(r"# (.*)", text))
    whole = inspect.getdoc(inspect.getmodule(function)) or ""
    words = " ".join((told or comments or whole).split())
    for place in (f"{told} {comments}", whole):
        for kind, pattern in KINDS.items():
            if re.search(pattern, place, re.IGNORECASE):
                return kind, words
    return WITHIN, words
