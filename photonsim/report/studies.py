"""Studies by what they come to: the outcome in words, the best designs, a figure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from photonsim.figures.study.draw import study_figures
from photonsim.report.content import (
    Block,
    Folded,
    Heading,
    Paragraph,
    Picture,
    Section,
    Table,
    table,
)
from photonsim.report.sections import LOOK
from photonsim.results.files.study_table import PARAMETER, Column, StudyTable
from photonsim.results.remarks.laws import outdated_study
from photonsim.studies import tolerance
from photonsim.studies.outcomes import best_rows, range_words

MOST_DESIGNS = 8
KINDS = {
    "sweep": "A range tried",
    "tune": "The best searched for",
    "front": "A trade-off",
    "tolerance": "How exactly it must be built",
    "race": "Designs raced",
}


def studied(tables: Sequence[StudyTable]) -> Section | None:
    """What was tried by sweeps, searches and the like; None without any."""
    if not tables:
        return None
    told = [study(table, f"study-{number}") for number, table in enumerate(tables, 1)]
    return Section("What was tried", "studies", tuple(block for blocks in told for block in blocks))


def study(found: StudyTable, anchor: str) -> tuple[Block, ...]:
    """Return a study under a heading of its own; figures beyond the first are folded."""
    title = f"{KINDS[found.kind]}: {found.title}" if found.title else KINDS[found.kind]
    first, *rest = [
        Picture(
            figure,
            f"{anchor}-{name}",
            f"{name.capitalize()} of {len(found)} designs.",
            f"Figure of a {found.kind} over {len(found)} designs; its outcome stands above.",
        )
        for name, figure in study_figures(found, LOOK).items()
    ]
    return (
        Heading(title, anchor),
        *map(Paragraph, outdated_study(found)),
        *_outcome(found),
        first,
        *([Folded("Another view", tuple(rest))] if rest else []),
    )


def _outcome(found: StudyTable) -> tuple[Paragraph | Table, ...]:
    match found.kind:
        case "sweep":
            rows = best_rows(found)
            best = (table(rows, (0,)),) if rows[1:] else ()
            return (Paragraph(range_words(found)), *best)
        case "tolerance":
            scatter, shares = tolerance.scatter_rows(found), tolerance.share_rows(found)
            words = tolerance.outcome(found)
            told = (Paragraph(words),) if words else ()
            return (*told, table(scatter, (0,)), table(shares, (0,)))
        case "race":
            words = f"{len(found)} designs were raced for as long as luck could decide; best first."
            return (Paragraph(words), _designs(found, range(len(found)), found.columns))
    return _searched(found)


def _searched(found: StudyTable) -> tuple[Paragraph | Table, ...]:
    """Return how many designs of a search are within its limits or on its front, and the best."""
    facts = [name.partition(" ") for name in found.facts]
    goals = [name for word, _, name in facts if word == "goal"]
    limits = [name for word, _, name in facts if word == "limit"]
    flag = found["on_front" if found.kind == "front" else "within_limits"]
    sense = found.facts["sense" if found.kind == "tune" else f"goal {goals[0]}"]
    values = np.nan_to_num(sense * found[goals[0]].values, nan=-np.inf)
    kept = [int(k) for k in np.argsort(-values, kind="stable") if flag.values[k]]
    aims = " and ".join(f"{_aim(found, name)} {found[name].label}" for name in goals)
    words = {
        "tune": "The best of so many owe part of their lead to luck: trace the winner afresh.",
        "front": "None of them is beaten in every goal: between them only taste can choose.",
    }[found.kind]
    figures = [found[name] for name in dict.fromkeys([*goals, *limits])]
    place = "on the front" if found.kind == "front" else "within the limits"
    head = f"Searched for {aims}. {len(kept)} of {len(found)} designs tried are {place}."
    if not kept:
        return (Paragraph(f"{head} Widen a range or a limit."),)
    spread = np.linspace(0, len(kept) - 1, min(len(kept), MOST_DESIGNS)).round().astype(int)
    places = [kept[k] for k in spread] if found.kind == "front" else kept[:MOST_DESIGNS]
    if len(places) < len(kept):
        some = "some, evenly spread" if found.kind == "front" else "the best"
        words += f" The table shows {some}."
    return (
        Paragraph(f"{head} {words}"),
        _designs(found, places, [*figures, *found.with_role(PARAMETER)]),
    )


def _aim(found: StudyTable, name: str) -> str:
    sense = found.facts["sense" if found.kind == "tune" else f"goal {name}"]
    return "most" if sense > 0.0 else "least"


def _designs(found: StudyTable, places: Sequence[int], columns: Sequence[Column]) -> Table:
    texts = [column.texts() for column in columns]
    heads = tuple(column.heading for column in columns)
    # A search may try one design more than once.
    rows = dict.fromkeys(tuple(cells[k] for cells in texts) for k in places)
    return table([heads, *rows], [k for k, column in enumerate(columns) if column.has_words])
