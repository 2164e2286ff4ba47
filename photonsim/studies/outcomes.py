"""What a search among many designs comes to, in words: the best, how sure, where its range ends."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from scipy.special import ndtri

from photonsim.results import FIGURES, Estimate
from photonsim.results.figure_names import better_of
from photonsim.results.files.study_table import FIGURE, PARAMETER, Column, StudyTable
from photonsim.studies.goals import Goal, Limit
from photonsim.studies.points import estimate_in
from photonsim.studies.search import Search
from photonsim.studies.tune import Tuned, gain_rows
from photonsim.words.text import aligned, folded, number, paragraph

# Within this share of a range its end is where the best may only seem to be the best.
NEAR_END = 0.02
# A search seldom proposes the very end.
NEAR_BOUND = 0.05
# The odds that luck alone makes some design of a table look worse than another.
FALSE_ALARM = 0.01
# More reasons, or designs of a front, than this are left to the table.
MOST_TOLD = 3
MOST_ON_FRONT = 10


def sweep_outcome(table: StudyTable) -> str:
    """Return the best design for each figure, and what the first of them says about the range."""
    rows = best_rows(table)
    blocks = folded(rows, (0, 1), 2) if rows[1:] else []
    return "\n\n".join([*blocks, paragraph(range_words(table))])


def best_rows(table: StudyTable) -> list[list[str]]:
    """Return the best design of a sweep for each figure, the headings first."""
    columns = table.with_role(PARAMETER)
    rows = [["best for", "", *(column.heading for column in columns)]]
    for column in _judged(table):
        k = _best(column)
        most = _most_of(better_of(column.name)).lower()
        numbers = (f"{one.values[k]:g}" for one in columns)
        rows.append([f"{most} {column.label}", _text(column, k), *numbers])
    return rows


def range_words(table: StudyTable) -> str:
    """Return what a sweep says of the first of its figures: how far it goes, where, how sure."""
    judged, words = _judged(table), _impossible(table)
    if not judged:
        return " ".join(["No design has a figure that could be best.", *words])
    columns = table.with_role(PARAMETER)
    best = _best(judged[0])
    alike = _as_good(judged[0], best)
    ranges = {one.name: (float(one.values.min()), float(one.values.max())) for one in columns}
    places = {one.name: one.values[alike] for one in columns}
    ends = beyond_ends(places, ranges, table)
    return " ".join([_lead(table, judged[0], best, alike), *ends, *words])


def sure_best(table: StudyTable) -> dict[str, float] | None:
    """Return the numbers of the best design by the first figure; None where it may be luck."""
    judged = _judged(table)
    if not judged or len(_as_good(judged[0], _best(judged[0]))) == _sound(judged[0]).size:
        return None
    return table.best(judged[0].name)


def _judged(table: StudyTable) -> list[Column]:
    """Return the columns by which a design can be best."""
    return [
        column
        for column in table.with_role(FIGURE)
        if better_of(column.name) and np.isfinite(column.values).any()
    ]


def tune_outcome(table: StudyTable, search: Search, tuned: Tuned | None) -> str:
    """Return the winner of a search for one goal, or why there is none."""
    inside = int(np.sum(table["within_limits"].values))
    count = f"{inside} of {len(table)} designs are within the limits." if search.limits else ""
    words = [count, *_impossible(table)] if count else _impossible(table)
    if tuned is None:
        kept = [f"{limit.words()}: {_keepers(table, limit)}" for limit in search.limits]
        lines = "\n".join(f"  {line}" for line in kept)
        words.append("Widen a range or a limit.")
        return f"No design within the limits was found.\n{lines}\n{paragraph(' '.join(words))}"
    goal = search.goals[0]
    figure = FIGURES[goal.figure]
    printed = estimate_in(tuned.record, goal.figure).text(figure.scale, figure.unit)
    head = f"{_most_of(goal.sense)} {figure.words}: {printed}, {_against_start(tuned, goal)}"
    numbers = [f"{path} = {value:g}{_unit(table, path)}" for path, value in tuned.point.items()]
    ranges = {bound.path: (bound.low, bound.high) for bound in search.bounds}
    places = {path: np.array([value]) for path, value in tuned.point.items()}
    ends = beyond_ends(places, ranges, table, NEAR_BOUND)
    rows = [["traced afresh", "best", "change"], *gain_rows(tuned)]
    if not tuned.within_limits:
        ends.append("But its fresh figures miss a limit: search with a smaller --relative-error.")
    parts = [
        "\n".join([paragraph(head), *(f"  {line}" for line in numbers)]),
        aligned(rows, (0, 1, 2), ruled=True),
        paragraph(" ".join([*ends, *words])),
    ]
    return "\n\n".join(part for part in parts if part)


def front_outcome(table: StudyTable, search: Search) -> str:
    """Return the designs between which only taste can choose, by the first goal."""
    ranked, words = ranked_front(table, search), _impossible(table)
    if not ranked:
        return paragraph(" ".join(["No design within the limits was found.", *words]))
    goals = [table[goal.figure] for goal in search.goals]
    parameters = table.with_role(PARAMETER)
    # Evenly spread over the front where there are more than are read.
    places = np.linspace(0, len(ranked) - 1, min(len(ranked), MOST_ON_FRONT)).round().astype(int)
    rows = [["", *(c.heading for c in goals), *(c.heading for c in parameters)]]
    for place in places:
        k = ranked[place]
        figures = [_text(column, k, "") for column in goals]
        rows.append([str(place + 1), *figures, *(f"{c.values[k]:g}" for c in parameters)])
    shown = "" if len(places) == len(ranked) else f"; {len(places)} of them, the rest in front.csv"
    noun = "design" if len(ranked) == 1 else "designs"
    head = f"{len(ranked)} {noun} that no other beats for {search.words()}{shown}:"
    return "\n\n".join([paragraph(head), *folded(rows, (), 1), *map(paragraph, words)])


def ranked_front(table: StudyTable, search: Search) -> list[int]:
    """Return the places of the designs on the front, best first by the first goal."""
    goal = search.goals[0]
    values = goal.sense * table[goal.figure].values
    return sorted(map(int, np.flatnonzero(table["on_front"].values)), key=lambda k: -values[k])


def beyond_ends(
    places: Mapping[str, np.ndarray],
    ranges: Mapping[str, tuple[float, float]],
    table: StudyTable,
    near: float = NEAR_END,
) -> list[str]:
    """Return, where the best values of a number all lie at an end of its range, where to go on."""
    found = []
    for path, values in places.items():
        low, high = ranges[path]
        reach = near * (high - low)
        if reach and np.all(values <= low + reach):
            found.append(f"{path} below {number(low, 6)}{_unit(table, path)}")
        elif reach and np.all(values >= high - reach):
            found.append(f"{path} beyond {number(high, 6)}{_unit(table, path)}")
    if not found:
        return []
    return [f"The best lies at the end of the range tried: try {' and '.join(found)}."]


def _unit(table: StudyTable, path: str) -> str:
    unit = table[path].unit
    return f" {unit}" if unit else ""


def _impossible(table: StudyTable) -> list[str]:
    """Say how many designs are no possible lamp, and why."""
    if not any(column.name == "remark" for column in table.columns):
        return []
    photons = table["photons"].values
    remarks = [str(words) for words in table["remark"].values[photons == 0]]
    if not remarks:
        return []
    reasons = Counter(words.split(";")[0] for words in remarks)
    told = [f"{why} ({n})" if n > 1 else why for why, n in reasons.most_common(MOST_TOLD)]
    more = f"; more in {table.kind}.csv" if len(reasons) > MOST_TOLD else ""
    verb = "is" if len(remarks) == 1 else "are"
    return [
        f"{len(remarks)} of {len(table)} designs {verb} no possible lamp: {'; '.join(told)}{more}."
    ]


def _lead(table: StudyTable, column: Column, best: int, alike: Sequence[int]) -> str:
    """Say how far the designs differ, which is best, and which others may be as good."""
    finite = _sound(column)
    low, high = (number(float(end)) for end in np.percentile(column.values[finite], (0, 100)))
    words = f"Over {len(finite)} designs, {column.label} goes from {low} to {high}"
    words += f" {column.unit}. " if column.unit else ". "
    if len(alike) == len(finite):
        return f"{words}That may be luck alone: a smaller --relative-error tells."
    place = ", ".join(f"{one.name} = {one.values[best]:g}" for one in table.with_role(PARAMETER))
    if len(alike) == 1:
        return f"{words}Best, beyond luck: {place}."
    spans = ", ".join(_span(one, one.values[alike]) for one in table.with_role(PARAMETER))
    others = "1 other" if len(alike) == 2 else f"{len(alike) - 1} others"
    return (
        f"{words}Best: {place}; but {others} may be as good, within {spans}: a smaller "
        "--relative-error tells them apart."
    )


def _span(column: Column, values: np.ndarray) -> str:
    low, high = values.min(), values.max()
    return f"{column.name} {low:g}" + ("" if low == high else f" to {high:g}")


def _as_good(column: Column, best: int) -> list[int]:
    """Return the places of designs that luck may have kept behind the best, itself among them.

    The best was chosen by its luck, so the odds are shared among all pairs (Bonferroni). Errors
    are added as if the luck were not shared, which keeps some more.
    """
    finite = _sound(column)
    known = np.zeros_like(column.values, float) if column.errors is None else column.errors
    errors = np.nan_to_num(known, nan=math.inf)
    behind = better_of(column.name) * (column.values[best] - column.values)
    reach = -ndtri(FALSE_ALARM / max(len(finite) * (len(finite) - 1), 1))
    apart = np.hypot(errors, errors[best])
    return [int(k) for k in finite if k == best or behind[k] <= reach * apart[k]]


def _sound(column: Column) -> np.ndarray:
    """Return the places of the designs that have a figure."""
    return np.flatnonzero(np.isfinite(column.values))


def _best(column: Column) -> int:
    return int(np.nanargmax(better_of(column.name) * column.values))


def _most_of(sense: int) -> str:
    return "Most" if sense > 0 else "Least"


def _text(column: Column, k: int, unit: str | None = None) -> str:
    error = math.nan if column.errors is None else float(column.errors[k])
    return Estimate(float(column.values[k]), error).text(1.0, column.unit if unit is None else unit)


def _against_start(tuned: Tuned, goal: Goal) -> str:
    """Say what the winner gains over the scene as it was, and whether that is more than luck."""
    figure, gain = FIGURES[goal.figure], tuned.gains[goal.figure]
    start = estimate_in(tuned.start, goal.figure).value
    if gain.value == 0.0 or not math.isfinite(gain.value):
        return "no more than the scene as it was: no design tried was better."
    size = replace(gain, value=abs(gain.value)).text(figure.scale, figure.unit)
    way = "more" if gain.value > 0.0 else "less"
    share = f" ({100.0 * abs(gain.value / start):.2g} %)" if start else ""
    luck = "" if gain.chance_of_zero < FALSE_ALARM else "; that may be luck"
    return f"{size}{share} {way} than the scene as it was{luck}."


def _keepers(table: StudyTable, limit: Limit) -> str:
    values = table[limit.figure].values
    keep = int(np.sum(limit.sense * (values - limit.value) >= 0.0))
    finite = values[np.isfinite(values)]
    if not finite.size:
        return "no design has this figure"
    best = finite.max() if limit.sense > 0 else finite.min()
    return f"{keep or 'none'} of {len(table)} designs, the best has {number(float(best))}"
