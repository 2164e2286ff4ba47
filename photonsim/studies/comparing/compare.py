"""Designs side by side: ranked, with honest errors on every difference."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import count
from typing import TYPE_CHECKING, NamedTuple

from photonsim.results import FIGURES, Estimate, Result, Shown, asked_by, figure_named, shown_in
from photonsim.results.labelled.frame import data_frame
from photonsim.studies.comparing.paired import are_paired, difference
from photonsim.words.labels import shared_title
from photonsim.words.notebook import html_table
from photonsim.words.text import aligned

if TYPE_CHECKING:
    import pandas

RANKED_BY = "collected_lm"
# With luck alone, one table in a hundred calls some difference real.
FALSE_ALARM = 0.01
# Designs that a few lines have room for.
MOST_TOLD = 9
LEDGER_GROUPS = {
    "stop": "through the stop",
    "blocked": "stopped by rims",
    "absorbed": "absorbed",
    "escaped": "escaped",
    "guard": "given up",
}


class Design(NamedTuple):
    """A design in a comparison: what to call it, and its result."""

    label: str
    result: Result


@dataclass(frozen=True)
class Comparison:
    """Designs by falling collected lumens; `reference` is the one that differences are taken to.

    `figures` are the names of those that stand in its table, `asked` of those that were asked for.
    """

    designs: tuple[Design, ...]
    reference: Design
    figures: tuple[str, ...]
    asked: tuple[str, ...] = ()

    def __repr__(self) -> str:
        """Tell the first few designs, best first."""
        heads, *rows = self._rows((RANKED_BY,))
        more = [f"and {len(rows) - MOST_TOLD} more"] if len(rows) > MOST_TOLD else []
        return "\n".join([aligned([heads, *rows[:MOST_TOLD]], left=(0, 3)), *more])

    def _repr_html_(self) -> str:
        return html_table(self._rows(self.figures))

    def _rows(self, names: Sequence[str]) -> list[list[str]]:
        """Return designs and some of their figures, and each difference with its verdict."""
        figures = [FIGURES[name] for name in names]
        change_to = f"against '{self.reference.label}', lm"
        rows = [["design", *(figure.heading for figure in figures), change_to, ""]]
        for _, design, change in self.ranked:
            found = [design.result.estimate(one.name).text(one.scale) for one in figures]
            moved = "" if change is None else change.text()
            rows.append([design.label, *found, moved, self.verdict(change)])
        return rows

    def to_pandas(self) -> pandas.DataFrame:
        """Return all figures of merit by design with their errors, in the units that tables print.

        Raises ResultError where pandas is not installed.
        """
        columns: dict[str, list[object]] = {"design": [design.label for design in self.designs]}
        for name, figure in FIGURES.items():
            found = [design.result.estimate(name) for design in self.designs]
            columns[name] = [estimate.value * figure.scale for estimate in found]
            columns[f"{name} error"] = [estimate.error * figure.scale for estimate in found]
        return data_frame(columns, "design")

    @property
    def results(self) -> list[tuple[str, Result]]:
        """The designs as (label, result), best first."""
        return [(design.label, design.result) for design in self.designs]

    @property
    def title(self) -> str:
        """What the titles of the designs share; empty where each has one of its own."""
        return shared_title([design.result.name for design in self.designs])

    @property
    def place(self) -> int:
        """The reference's rank, from 1 on."""
        return next(rank for rank, design, _ in self.ranked if design is self.reference)

    @property
    def ranked(self) -> list[tuple[int, Design, Estimate | None]]:
        """Each design with its rank, from 1 on, and its difference to the reference."""
        return list(zip(count(1), self.designs, self.differences))

    @cached_property
    def differences(self) -> tuple[Estimate | None, ...]:
        """Collected lumens of each design less the reference's; None for the reference itself."""
        return tuple(
            None
            if design is self.reference
            else difference(design.result, self.reference.result, RANKED_BY)
            for design in self.designs
        )

    def is_real(self, change: Estimate, differences: int | None = None) -> bool:
        """Tell whether a difference is more than luck, at FALSE_ALARM for the table as a whole.

        Bonferroni: the odds are shared among all differences looked at, by default those to the
        reference. What light given up could have made of it is no difference.
        """
        looked_at = differences or max(len(self.designs) - 1, 1)
        return change.error > 0.0 and change.chance_of_zero * looked_at < FALSE_ALARM

    def verdict(self, change: Estimate | None) -> str:
        """Return what a difference is worth, in a word or two."""
        if change is None:
            return "reference"
        return "real" if self.is_real(change) else "not shown"

    @property
    def all_paired(self) -> bool:
        """Whether every design shares its luck with the reference."""
        return all(are_paired(design.result, self.reference.result) for design in self.designs)


def compare(
    designs: Sequence[Design], against: str = "first", asked: Sequence[str] = ()
) -> Comparison:
    """Return a comparison; `against` is 'first' (as given) or 'best'.

    `asked` are figures to show besides the usual ones. Raises ResultError where there is none.
    """
    names = tuple(figure_named(name).name for name in asked)
    gains = [name for design in designs for name in asked_by(design.result.scene)]
    figures = shown_in(Shown.COMPARE, [*gains, *names])
    ranked = tuple(sorted(designs, key=lambda design: -design.result.estimate(RANKED_BY).value))
    return Comparison(ranked, designs[0] if against == "first" else ranked[0], figures, names)


def ledger_shares(result: Result) -> dict[str, float]:
    """Return the share of all photons by group of fates; the shares sum to 1."""
    shares = dict.fromkeys(LEDGER_GROUPS, 0.0)
    for fate in result.fates:
        shares[fate.group] += fate.photons / result.photons
    return shares
