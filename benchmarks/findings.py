"""What a part of the benchmark found, and how it is shown: asked beside measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from benchmarks.timing import tell

RATIO = "×"


@dataclass(frozen=True)
class Claim:
    """A figure that the README may quote, with what was asked of it, if anything was.

    `least` tells whether the asked value is a lower limit. Ratios have the unit RATIO.
    """

    label: str
    measured: float
    asked: float | None = None
    unit: str = RATIO
    least: bool = True

    @property
    def met(self) -> bool | None:
        """Whether the figure is what was asked; None where nothing was."""
        if self.asked is None:
            return None
        return self.measured >= self.asked if self.least else self.measured <= self.asked

    def row(self) -> tuple[str, str, str, str]:
        """Return (label, asked, measured, verdict) as they are printed."""
        asked = ""
        if self.asked is not None:
            asked = f"{'≥' if self.least else '≤'} {short(self.asked)} {self.unit}"
        verdict = {None: "", True: "met", False: "short"}[self.met]
        return self.label, asked, f"{short(self.measured)} {self.unit}", verdict


@dataclass
class Findings:
    """What one part found: its claims, its tables as text, and all numbers for the JSON file."""

    title: str
    claims: list[Claim] = field(default_factory=list)
    tables: list[str] = field(default_factory=list)
    data: dict[str, Any] = field(default_factory=dict)

    def add(self, claim: Claim) -> None:
        """Add a claim, and tell it at once: a long part may be broken off."""
        self.claims.append(claim)
        tell(f"{claim.label}: {short(claim.measured)} {claim.unit}")


def short(value: float) -> str:
    """Return a number in three digits, large ones by thousands."""
    if abs(value) >= 1000:
        return f"{value:,.0f}"
    return f"{value:.3g}"


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return a table as text: the first column to the left, the others to the right."""
    widths = [max(len(row[k]) for row in [head, *rows]) for k in range(len(head))]
    lines = []
    for row in [head, *rows]:
        cells = [
            cell.ljust(width) if k == 0 else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append("  ".join(cells).rstrip())
    lines.insert(1, "-" * len(lines[0]))
    return "\n".join(lines)


def claims_table(claims: Sequence[Claim]) -> str:
    """Return claims as a table: ratios first, then whatever else has a limit, then the rest."""
    ordered = sorted(claims, key=lambda claim: (claim.unit != RATIO, claim.asked is None))
    return table(("", "asked", "measured", ""), [claim.row() for claim in ordered])
