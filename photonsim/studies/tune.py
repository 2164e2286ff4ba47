"""Tune: the best design within limits, or a trade-off front, told with figures from fresh luck.

The design that looks best of 150 owes part of its lead to luck. So the foremost few are raced with
other random numbers, and the winner is traced once more with others again, beside the design that
the search began with: what is reported comes from there.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import tomlkit

from photonsim.engine.cluster import Cluster
from photonsim.results import FIGURES, Estimate, Result
from photonsim.results.files.study_table import FACT, Column, StudyTable
from photonsim.scene import Scene
from photonsim.studies.comparing.paired import difference
from photonsim.studies.comparing.race import RaceRule, race
from photonsim.studies.goals import front_of, violations, within
from photonsim.studies.journal import Journal, Record, point_key
from photonsim.studies.paths import number_at, text_with_numbers, with_numbers
from photonsim.studies.points import (
    Point,
    Setting,
    columns_of,
    estimate_in,
    figures_asked,
    measure_all,
    record_of,
    step_of,
)
from photonsim.studies.search import Search, TrialProgress, explore
from photonsim.version import __version__

# Designs that go into the race at the end.
FOREMOST = 5
# Differences below half a per cent are not worth a race of their own.
WORTH = 0.005


@dataclass(frozen=True)
class Tuned:
    """The winner: its numbers, its figures from fresh luck, and what it gains over the beginning.

    `gains` are differences, winner less beginning, by figure; `within_limits` says whether the
    fresh figures still meet the limits.
    """

    point: Point
    record: Record
    start: Record
    gains: dict[str, Estimate]
    within_limits: bool


def tune(
    setting: Setting,
    search: Search,
    folder: Path | None = None,
    *,
    fresh: bool = False,
    cluster: Cluster | None = None,
    progress: TrialProgress | None = None,
) -> tuple[StudyTable, Tuned | None]:
    """Search, and return the table of all trials and, for a single goal, the winner or None.

    Raises ResultError where the folder holds another study or optuna is missing, SceneError for an
    unknown path.
    """
    definition = setting.definition("tune") | {
        "goals": search.words(),
        "bounds": [list(dataclasses.astuple(bound)) for bound in search.bounds],
        "together": search.together,
    }
    if len(search.goals) > 1:
        # Its generations depend on the number of trials.
        definition["trials"] = search.trials
    with Journal(folder, json.loads(json.dumps(definition)), fresh) as journal:
        records = explore(setting, search, journal, cluster, progress)
        if len(search.goals) > 1:
            return _front_table(setting, search, records, journal, cluster), None
        best = search.best(records)
        winner = None if best is None else _settle(setting, search, records, journal)
    return _table(setting, search, records), winner


def winning_text(scene: Scene, search: Search, tuned: Tuned, ties: dict[str, str]) -> str:
    """Return the winner as a scene file: the comments of the first one, and what was gained."""
    document = tomlkit.parse(text_with_numbers(scene, tuned.point, ties))
    document["title"] = f"{scene.title or 'Untitled'}, tuned"
    lines = [f"Tuned by photonsim for {search.words()}."]
    for path, value in tuned.point.items():
        before = number_at(scene, path)
        lines.append(f"  {path} = {value:g} (was {before:g})")
    lines.append("Traced afresh with other random numbers, beside the design it began with:")
    lines += [f"  {line}" for line in gain_lines(tuned)]
    return "".join(f"# {line}\n" for line in lines) + tomlkit.dumps(document)


def gain_lines(tuned: Tuned) -> list[str]:
    """Return one line for each figure: the winner's, and its change."""
    lines = []
    for name, gain in tuned.gains.items():
        figure = FIGURES[name]
        found = estimate_in(tuned.record, name)
        if math.isnan(found.value) or math.isnan(found.error):
            continue
        sign = "+" if gain.value > 0 else ""
        lines.append(
            f"{figure.words} {found.text(figure.scale, figure.unit)}, "
            f"change {sign}{gain.text(figure.scale, figure.unit)}"
        )
    return lines


def _settle(setting: Setting, search: Search, records: Sequence[Record], journal: Journal) -> Tuned:
    """Race the foremost designs with other luck, and trace the winner afresh."""
    goal = search.goals[0]
    sound = {point_key(r["point"]): r for r in records if within(r, search.limits)}
    foremost = sorted(sound.values(), key=lambda r: -goal.gain(r))[:FOREMOST]
    points = [record["point"] for record in foremost]
    mark = hashlib.sha256(json.dumps(points).encode()).hexdigest()[:12]
    scenes = [with_numbers(setting.scene, point, setting.ties) for point in points]
    most = max(4 * max(record["photons"] for record in foremost), 1 << 16)
    rule = RaceRule(goal.figure, most, worth=WORTH, sense=goal.sense)
    steps = [step_of(scene, setting.seed + 1, setting.threads, setting.guide) for scene in scenes]
    outcome = race(
        [str(point) for point in points],
        rule,
        lambda k, photons, earlier: steps[k](photons, earlier),
        journal.part(f"race {mark}"),
    )
    key = f"fresh {point_key(points[outcome.running[0]])}"
    if key not in journal:
        journal.add(key, _traced_afresh(setting, search, scenes[outcome.running[0]], most))
    kept = journal[key]
    return Tuned(
        points[outcome.running[0]],
        kept["winner"],
        kept["start"],
        {name: Estimate(*(_real(part) for part in parts)) for name, parts in kept["gains"].items()},
        # Fresh figures scatter about the limit: two errors beyond it are no longer luck.
        all(limit.violation(kept["winner"], -2.0) <= 0.0 for limit in search.limits),
    )


def _traced_afresh(setting: Setting, search: Search, scene: Scene, photons: int) -> Record:
    seed = setting.seed + 2
    winner: Result = step_of(scene, seed, setting.threads, setting.guide)(photons, None)
    start: Result = step_of(setting.scene, seed, setting.threads, setting.guide)(photons, None)
    gains = {}
    for name in figures_asked(setting, search.figures, ()):
        gain = difference(winner, start, name)
        parts = (gain.value, gain.error, gain.degrees)
        gains[name] = [part if math.isfinite(part) else None for part in parts]
    return {"winner": record_of(winner), "start": record_of(start), "gains": gains}


def _table(setting: Setting, search: Search, records: Sequence[Record]) -> StudyTable:
    columns = columns_of(setting.scene, records, figures_asked(setting, search.figures, ()))
    inside = np.array([within(record, search.limits) for record in records], dtype=np.int64)
    flags = Column("within_limits", "within limits", "", FACT, inside)
    goal = search.goals[0]
    facts: dict[str, float] = {f"goal {goal.figure}": 1.0, "sense": float(goal.sense)}
    facts |= {f"limit {limit.figure}": limit.value for limit in search.limits}
    scene = setting.scene
    return StudyTable("tune", scene.title, scene.text, (*columns, flags), facts, __version__)


def _front_table(
    setting: Setting,
    search: Search,
    records: Sequence[Record],
    journal: Journal,
    cluster: Cluster | None,
) -> StudyTable:
    """Return all trials, those on the front with figures from other luck than found them."""
    front = front_of(records, search.goals, search.limits)
    afresh = dataclasses.replace(setting, seed=setting.seed + 1, guiding=setting.guide)
    points = [records[place]["point"] for place in front]
    again = measure_all(afresh, points, journal.part("front"), cluster)
    final = list(records)
    for place, record in zip(front, again, strict=True):
        final[place] = record
    columns = columns_of(setting.scene, final, figures_asked(setting, search.figures, ()))
    # Luck had put some there: only what stands the fresh figures stays on the front.
    kept = front_of([final[place] for place in front], search.goals, search.limits)
    on_front = np.zeros(len(final), dtype=np.int64)
    on_front[[front[place] for place in kept]] = 1
    facts = {f"goal {goal.figure}": float(goal.sense) for goal in search.goals}
    facts |= {f"limit {limit.figure}": limit.value for limit in search.limits}
    flags = Column("on_front", "on the front", "", FACT, on_front)
    scene = setting.scene
    return StudyTable("front", scene.title, scene.text, (*columns, flags), facts, __version__)


def missed(record: Record, search: Search) -> str:
    """Return by how much a design misses the limits, in words."""
    if "impossible" in record:
        return "can't be built"
    parts = zip(search.limits, violations(record, search.limits)[1:], strict=True)
    return ", ".join(f"misses {limit.words()}" for limit, short in parts if short > 0.0)


def _real(part: float | None) -> float:
    return math.nan if part is None else part
