"""Whether what was read from a study table can be one: what its figures and words ask for."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import numpy as np

from photonsim.results.errors import ResultError
from photonsim.results.files.study_table import FACT, FIGURE, PARAMETER, Column, StudyTable
from photonsim.scene.plain_text import CONTROL

# Photons are counted to 1e14, lengths to 1e5 mm: whatever is beyond is no number of a lamp.
FARTHEST = 1e18
# What a column of words or flags is called that a kind of table must have.
FLAGS = {"tune": "within_limits", "front": "on_front"}
KINDS = ("sweep", "tune", "front", "tolerance", "race")


def refuse_unsound_table(table: StudyTable) -> None:
    """Raise ResultError, naming the first thing, where a table contradicts itself or its kind."""
    for problem in _contradictions(table):
        raise ResultError(problem)


def _contradictions(table: StudyTable) -> Iterator[str]:
    if table.kind not in KINDS:
        yield f"a study of the kind {table.kind!r}"
    if CONTROL.search(table.title) or CONTROL.search(table.program_version):
        yield "control characters in its title or its program's version"
    if not len(table):
        yield "it has no designs"
    for column in table.columns:
        yield from _column(column)
    if not table.with_role(FIGURE):
        yield "it has no figures of merit"
    if not table.with_role(PARAMETER) and table.kind != "race":
        yield "nothing varies in it"
    for name, value in table.facts.items():
        if CONTROL.search(name) or abs(value) > FARTHEST:
            yield f"the fact {name!r}"
    yield from _asked_by_kind(table)


def _column(column: Column) -> Iterator[str]:
    words = [column.name, column.label, column.unit]
    words += column.values.tolist() if column.has_words else []
    if any(CONTROL.search(word) for word in words):
        yield f"control characters in the column {column.name!r}"
    if column.role not in (PARAMETER, FIGURE, FACT):
        yield f"the role {column.role!r} of the column {column.name!r}"
    if column.has_words:
        if column.role != FACT or column.errors is not None:
            yield f"words in the column {column.name!r}, which has numbers"
        return
    if (np.abs(column.values.astype(float)) > FARTHEST).any():
        yield f"numbers of no lamp in the column {column.name!r}"
    if column.role == PARAMETER and not np.isfinite(column.values).all():
        yield f"no numbers in the column {column.name!r}, which was chosen"
    if column.errors is not None and ((column.errors < 0) | (column.errors > FARTHEST)).any():
        yield f"errors below zero in the column {column.name!r}"


def _asked_by_kind(table: StudyTable) -> Iterator[str]:
    """Yield what the figures of this kind of study would miss."""
    figures = {column.name for column in table.with_role(FIGURE)}
    flag = FLAGS.get(table.kind)
    if flag is not None:
        column = next((one for one in table.columns if one.name == flag), None)
        if column is None or column.has_words or not set(column.values.tolist()) <= {0, 1}:
            yield f"no column {flag}"
        named = [fact.partition(" ") for fact in table.facts]
        goals = [name for word, _, name in named if word == "goal"]
        if len(goals) < (2 if table.kind == "front" else 1):
            yield "no goals"
        if strange := {name for word, _, name in named if word in ("goal", "limit")} - figures:
            yield f"a goal or limit on what it does not hold, {min(strange)!r}"
    if table.kind == "tune" and table.facts.get("sense") not in (-1.0, 1.0):
        yield "no sense of its goal"
    if table.kind == "tolerance":
        paths = [column.name for column in table.with_role(PARAMETER)]
        asked = [
            f"{word} {one} {path}"
            for word, one, path in product(("share", "share error"), sorted(figures), paths)
        ]
        asked += ["yield low", "yield high"] if "yield" in table.facts else []
        if missing := [name for name in asked if name not in table.facts]:
            yield f"no {missing[0]!r} among its facts"
        if wrong := [name for name in asked if "error" in name and table.facts.get(name, 0.0) < 0]:
            yield f"the fact {wrong[0]!r} below zero"
