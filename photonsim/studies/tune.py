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
from typing import Self

import numpy as np
import tomlkit

from photonsim.engine.cluster import Cluster
from photonsim.results import FIGURES, Estimate
from photonsim.results.files.study_table import FACT, Column, StudyTable
from photonsim.scene import Scene, number_at, parse_scene
from photonsim.studies.comparing.paired import difference
from photonsim.studies.comparing.race import RaceRule, race
from photonsim.studies.goals import front_of, within
from photonsim.studies.journal import Journal, Record, point_key
from photonsim.studies.points import (
    Point,
    Setting,
    as_plain,
    columns_of,
    estimate_in,
    figures_asked,
    from_plain,
    measure_all,
    record_of,
)
from photonsim.studies.search import Search, TrialProgress, explore
from photonsim.version import __version__

# Designs that go into the race at the end.
FOREMOST = 5
# Differences below half a per cent are not worth a race of their own.
WORTH = 0.005
# Lines that a few lines have room for.
MOST_TOLD = 10


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


@dataclass(frozen=True)
class Tuning:
    """What a search found: the table of all trials, and the winner of a single goal with its scene.

    `winner` and `scene` are None where there are several goals, or no design within the limits.
    """

    search: Search
    table: StudyTable
    winner: Tuned | None
    scene: Scene | None

    @classmethod
    def of(cls, setting: Setting, search: Search, table: StudyTable, winner: Tuned | None) -> Self:
        """Return what a search found, the winner as a scene."""
        if winner is None:
            return cls(search, table, None, None)
        text = winning_text(setting.scene, search, winner, dict(setting.ties))
        return cls(search, table, winner, parse_scene(text))

    def __repr__(self) -> str:
        """Tell the winner, traced afresh, and what it gains; or else the trials."""
        if self.winner is None:
            return repr(self.table)
        numbers = ", ".join(f"{path} = {value:g}" for path, value in self.winner.point.items())
        gains = [f"  {line}" for line in gain_lines(self.winner)][:MOST_TOLD]
        return "\n".join([f"best of {len(self.table)} designs: {numbers}", *gains])

    def _repr_html_(self) -> str:
        return self.table._repr_html_()


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
    document = tomlkit.parse(scene.with_numbers(tuned.point, ties).text)
    document["title"] = f"{scene.title or 'Untitled'}, tuned"
    lines = [f"Tuned by photonsim for {search.words()}."]
    for path, value in tuned.point.items():
        before = number_at(scene, path)
        lines.append(f"  {path} = {value:g} (was {before:g})")
    lines.append("Traced afresh with other random numbers, beside the design it began with:")
    lines += [f"  {line}" for line in gain_lines(tuned)]
    return "".join(f"# {line}\n" for line in lines) + tomlkit.dumps(document)


def gain_rows(tuned: Tuned) -> list[list[str]]:
    """Return for each figure its words, the winner's value, and its change."""
    rows = []
    for name, gain in tuned.gains.items():
        figure = FIGURES[name]
        found = estimate_in(tuned.record, name)
        if math.isnan(found.value) or math.isnan(found.error):
            continue
        sign = "+" if gain.value > 0 else ""
        printed = (figure.scale, figure.unit)
        rows.append([figure.words, found.text(*printed), sign + gain.text(*printed)])
    return rows


def gain_lines(tuned: Tuned) -> list[str]:
    """Return one line for each figure: the winner's, and its change."""
    return [f"{words} {found}, change {change}" for words, found, change in gain_rows(tuned)]


def _settle(setting: Setting, search: Search, records: Sequence[Record], journal: Journal) -> Tuned:
    """Race the foremost designs with other luck, and trace the winner afresh."""
    goal = search.goals[0]
    sound = {point_key(r["point"]): r for r in records if within(r, search.limits)}
    foremost = sorted(sound.values(), key=lambda r: -goal.gain(r))[:FOREMOST]
    points = [record["point"] for record in foremost]
    mark = hashlib.sha256(json.dumps(points).encode()).hexdigest()[:12]
    scenes = [setting.scene.with_numbers(point, setting.ties) for point in points]
    most = max(4 * max(record["photons"] for record in foremost), 1 << 16)
    rule = RaceRule(goal.figure, most, worth=WORTH, sense=goal.sense)
    steps = [setting.afresh(1).tracer(scene) for scene in scenes]
    outcome = race(
        [str(point) for point in points],
        rule,
        lambda k, photons, _: steps[k](photons),
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
        {name: from_plain(parts) for name, parts in kept["gains"].items()},
        # Fresh figures scatter about the limit: two errors beyond it are no longer luck.
        all(limit.violation(kept["winner"], -2.0) <= 0.0 for limit in search.limits),
    )


def _traced_afresh(setting: Setting, search: Search, scene: Scene, photons: int) -> Record:
    lamps = (scene, setting.scene)
    winner, start = (setting.afresh(2).tracer(lamp)(photons) for lamp in lamps)
    gains = {
        name: as_plain(difference(winner, start, name))
        for name in figures_asked(setting, search.figures, ())
    }
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
    points = [records[place]["point"] for place in front]
    again = measure_all(setting.afresh(1), points, journal.part("front"), cluster)
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
