"""A race of designs: photons go where it is still open which is best; clear losers stop early.

All designs trace the same histories, so that differences are surer than the figures themselves. At
every look each pair still running is compared; a design that another beats is out. The odds of a
false alarm are those of the whole race: shared among all pairs (Bonferroni), and for each pair over
all looks (`sequential`).
"""

from __future__ import annotations

import dataclasses
import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

import numpy as np

from photonsim.engine import Resume, trace
from photonsim.engine.cluster import Cluster, trace_on_cluster
from photonsim.engine.pilot import Guiding, guides_of
from photonsim.results import (
    FIGURES,
    Result,
    ResultError,
    Shown,
    digest_of,
    figure_named,
    shown_in,
)
from photonsim.results.files.study_table import StudyTable
from photonsim.results.merit import COLLECTED
from photonsim.results.panel import weights
from photonsim.scene import Scene
from photonsim.studies.comparing.paired import difference
from photonsim.studies.comparing.sequential import (
    boundary_for,
    doubling_looks,
    false_alarm_odds,
    z_of,
)
from photonsim.studies.journal import Journal, Record
from photonsim.studies.points import (
    as_plain,
    estimate_in,
    fact_column,
    figure_column,
    from_plain,
    record_of,
    remark_on,
)
from photonsim.version import __version__
from photonsim.words.text import folded, paragraph, shortened

# (design, photons, earlier result) -> result
DesignTracer = Callable[[int, int, Result | None], Result]
# Figures in proportion to a count have no bias and nearly normal errors from the first look on.
# The others, least over mean of nine cells for one, need light in every cell: 8,100 are 100 a cell,
# 10 % of noise.
FEWEST_COLLECTED = 8_100
# Designs that hardly differ share almost all fates. Eight photons more and none fewer are 2.8
# errors, but one coin in 128 falls so; from 25 photons on that fell otherwise, the normal law
# serves. So it does where brighter LEDs bring as much: fewer can't turn that difference round.
FEWEST_CHANGED = 25
LARGEST_BOUND = 1e300


@dataclass(frozen=True)
class RaceRule:
    """What is raced for, how far, and at what odds.

    `sense` is +1 where more of `figure` wins and -1 where less does; differences below `worth`, as
    a share of the leader's figure, need not be told apart.
    """

    figure: str = "collected_lm"
    most_photons: int = 8_388_608
    false_alarm: float = 0.05
    worth: float = 0.0
    sense: int = 1

    def __post_init__(self) -> None:
        object.__setattr__(self, "figure", figure_named(self.figure).name)
        if not 0.0 < self.false_alarm < 0.5:
            raise ResultError(f"false alarm = {self.false_alarm}: must be between 0 and 0.5")
        if not 0.0 <= self.worth < 1.0:
            raise ResultError(f"worth = {self.worth}: must be from 0 to 1")

    @property
    def looks(self) -> tuple[int, ...]:
        """The photon counts at which the designs are compared."""
        return doubling_looks(self.most_photons)


@dataclass
class Loss:
    """When a design fell out, to whom, and the odds of so clear a loss by luck, over all looks."""

    photons: int
    to: int
    odds: float


@dataclass
class RaceOutcome:
    """How a race ended: `running` lists the designs still in, best first."""

    labels: list[str]
    rule: RaceRule
    running: list[int]
    losses: dict[int, Loss] = field(default_factory=dict)
    records: dict[int, Record] = field(default_factory=dict)
    alike: bool = False

    def rank(self, design: int) -> float:
        """Return a number that is less for a better design."""
        return -self.rule.sense * estimate_in(self.records[design], self.rule.figure).value

    @property
    def winner(self) -> int | None:
        """The design that beat all others, or None while it is open."""
        return self.running[0] if len(self.running) == 1 else None

    @property
    def confidence(self) -> float:
        """At least this sure: no design was called a loser by luck."""
        return max(
            1.0 - sum(loss.odds for loss in self.losses.values()), 1.0 - self.rule.false_alarm
        )

    def __repr__(self) -> str:
        """Tell how the race ended, and the first few designs."""
        return f"{self.verdict()}\n{self.table!r}"

    @property
    def order(self) -> list[int]:
        """The designs, best first: those still in before those that fell out."""
        return [*self.running, *sorted(self.losses, key=self.rank)]

    @property
    def table(self) -> StudyTable:
        """The race as a table, best design first."""
        records = [self.records[k] for k in self.order]
        figures = dict.fromkeys([self.rule.figure, *shown_in(Shown.STUDY)])
        columns = (
            fact_column("design", [self.labels[k] for k in self.order]),
            *(figure_column(name, records) for name in figures),
            fact_column("photons", [record["photons"] for record in records], np.int64),
            fact_column("outcome", [_words(self, k) for k in self.order]),
        )
        facts = {"false_alarm": self.rule.false_alarm, "confidence": self.confidence}
        title = f"for {FIGURES[self.rule.figure].words}"
        return StudyTable("race", title, "", columns, facts, __version__)

    def _repr_html_(self) -> str:
        return self.table._repr_html_()

    def verdict(self) -> str:
        """Return how the race ended, in a sentence."""
        figure = FIGURES[self.rule.figure]
        if len(self.labels) == 1:
            return "one design alone has no race to run"
        photons = max(record["photons"] for record in self.records.values())
        if self.winner is not None:
            return (
                f"'{self.labels[self.winner]}' wins in {figure.words}, "
                f"{_percent(self.confidence)} sure, after {photons:,} photons"
            )
        names = ", ".join(f"'{self.labels[k]}'" for k in self.running)
        remarks = [(k, remark_on(self.records[k])) for k in self.running]
        lost = "".join(f"; of '{self.labels[k]}' {remark}" for k, remark in remarks if remark)
        if self.alike:
            return f"{names} differ by less than {100.0 * self.rule.worth:g} % in {figure.words}"
        outlook = lost or "; more photons may decide"
        return f"still open between {names} after {photons:,} photons{outlook}"


def race(
    labels: Sequence[str], rule: RaceRule, tracer: DesignTracer, journal: Journal | None = None
) -> RaceOutcome:
    """Run a race. With a journal, looks that it holds are not traced again."""
    outcome = RaceOutcome(list(labels), rule, list(range(len(labels))))
    journal = journal or Journal(None, {})
    results: dict[int, Result] = {}
    pairs = max(math.comb(len(labels), 2), 1)
    boundary = boundary_for(rule.false_alarm / pairs, rule.looks)
    for photons in rule.looks:
        key = f"look at {photons}"
        if key not in journal:
            for k in outcome.running:
                results[k] = tracer(k, photons, results.get(k))
            journal.add(key, _look(outcome.running, results, rule))
        _judge(outcome, journal[key], boundary, pairs, photons)
        if len(outcome.running) == 1 or outcome.alike:
            break
    outcome.running.sort(key=outcome.rank)
    return outcome


def _look(running: list[int], results: dict[int, Result], rule: RaceRule) -> Record:
    changes = []
    for one, other in itertools.combinations(running, 2):
        if not _is_counted_enough(results[one], results[other], rule.figure):
            continue
        change = difference(results[one], results[other], rule.figure)
        # JSON knows no infinity; no figure comes near this bound, which so means the same.
        unknown = min(change.systematic, LARGEST_BOUND)
        changes.append([one, other, *as_plain(change), unknown])
    return {"changes": changes, "records": {str(k): record_of(results[k]) for k in running}}


def _is_counted_enough(one: Result, other: Result, figure: str) -> bool:
    """Tell whether enough was counted for a difference to follow the normal law."""
    counted = FIGURES[figure].counted
    if counted is not None:
        counts = [counted(result.samples.batches) for result in (one, other)]
        lit = [result.estimate(figure).value for result in (one, other)]
        # What one count stands for: brighter LEDs change it, and no photon's fate.
        worth = [value / max(each.sum(), 1.0) for value, each in zip(lit, counts, strict=True)]
        ours, theirs = (each * unit for each, unit in zip(counts, worth, strict=True))
        weight = weights.of_all(one.tallies, FIGURES[figure].light) * max(worth)
        return bool(weight > 0.0 and np.abs(ours - theirs).sum() >= FEWEST_CHANGED * weight)
    fewest = min(result.samples.effective_photons(COLLECTED) for result in (one, other))
    return fewest >= FEWEST_COLLECTED


def _judge(outcome: RaceOutcome, look: Record, boundary: float, pairs: int, photons: int) -> None:
    rule = outcome.rule
    outcome.records |= {int(k): record for k, record in look["records"].items()}
    widest = 0.0
    for one, other, *parts, unknown in look["changes"]:
        change = from_plain(parts, unknown)
        z = rule.sense * z_of(change)
        if abs(z) >= boundary:
            loser, to = (other, one) if z > 0 else (one, other)
            odds = min(pairs * false_alarm_odds(abs(z), rule.looks), 1.0)
            known = outcome.losses.get(loser)
            if known is None or odds < known.odds:
                outcome.losses[loser] = Loss(photons, to, max(odds, 0.0))
        elif one in outcome.running and other in outcome.running:
            reach = abs(change.value) + boundary * change.error + unknown
            widest = max(widest, reach if reach == reach else math.inf)
    outcome.running = [k for k in outcome.running if k not in outcome.losses]
    leader = max(abs(estimate_in(outcome.records[k], rule.figure).value) for k in outcome.running)
    # Of the pairs left, each lies within the interval that holds at all looks at once.
    judged = len(look["changes"]) == math.comb(len(look["records"]), 2)
    outcome.alike = judged and len(outcome.running) > 1 and widest < rule.worth * leader


def as_text(outcome: RaceOutcome) -> str:
    """Return the race for a terminal: a table, best design first, and how it ended."""
    figure = FIGURES[outcome.rule.figure]
    order = outcome.order
    rows = [["", "design", figure.heading, "out at photons", "against", "sure"]]
    for place, k in enumerate(order, 1):
        value = estimate_in(outcome.records[k], figure.name).text(figure.scale)
        fate = ["", "", ""]
        if k in outcome.losses:
            loss = outcome.losses[k]
            against = f"no. {order.index(loss.to) + 1}"
            fate = [f"{loss.photons:,}", against, _percent(1.0 - loss.odds)]
        rows.append([str(place), shortened(outcome.labels[k]), value, *fate])
    words = f"{outcome.verdict()}."
    if outcome.winner is not None and len(outcome.labels) > 1:
        words += (
            " The race ends as soon as that is sure, so how far it leads is rough: `photonsim "
            "compare` tells."
        )
    return f"{folded(rows, (1,), 2)[0]}\n\n{paragraph(words)}"


def _words(outcome: RaceOutcome, design: int) -> str:
    if design in outcome.losses:
        loss = outcome.losses[design]
        sure = _percent(1.0 - loss.odds)
        return f"out at {loss.photons:,} photons against '{outcome.labels[loss.to]}', {sure} sure"
    return "winner" if outcome.winner == design else ("alike" if outcome.alike else "still in")


def _percent(confidence: float) -> str:
    # More nines than four would claim that nothing but luck could be wrong.
    return "over 99.99 %" if confidence > 0.9999 else f"{100.0 * confidence:.4g} %"


def entered(
    scenes: Mapping[str, Scene],
    rule: RaceRule,
    seed: int,
    guiding: Guiding,
    folder: Path | None,
    threads: int | None = None,
    cluster: Cluster | None = None,
    fresh: bool = False,
) -> tuple[DesignTracer, Journal]:
    """Return what traces the designs of a race, and its journal.

    Each design's result is kept in the folder, if there is one, and gone on from.
    """
    lamps = list(scenes.values())
    guides = list(guides_of(lamps, seed, guiding, threads=threads))
    traced: Callable[..., Result] = (
        partial(trace, threads=threads)
        if cluster is None
        else partial(trace_on_cluster, cluster=cluster)
    )

    def tracer(design: int, photons: int, earlier: Result | None) -> Result:
        path = folder and folder / "results" / f"design-{design + 1}.h5"
        saved = path is not None and earlier is None and not fresh
        resume: Resume = "saved" if saved else earlier
        guide = guides[design]
        result = traced(lamps[design], photons, seed, resume=resume, save_to=path, guide=guide)
        if not result.is_complete:
            raise KeyboardInterrupt(result.run.stopped_by)
        return result

    definition = {
        "kind": "race",
        "program_version": __version__,
        "seed": seed,
        "guides": [digest_of(guide) for guide in guides],
        **dataclasses.asdict(rule),
        **{f"scene '{label}'": scene.text for label, scene in scenes.items()},
    }
    return tracer, Journal(folder, definition, fresh)
