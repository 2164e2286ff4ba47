"""A comparison as a table: for the terminal, as Markdown for pasting, as CSV for a spreadsheet."""

from __future__ import annotations

from collections.abc import Sequence

from photonsim.results import FIGURES
from photonsim.results.remarks.caveats import caveats
from photonsim.studies.comparing.answer import answer, change_words, few_digits
from photonsim.studies.comparing.compare import (
    LEDGER_GROUPS,
    RANKED_BY,
    Comparison,
    ledger_shares,
)
from photonsim.words.escaping import csv_text, markdown_line, markdown_table
from photonsim.words.text import folded, paragraph, shortened

# What a design is chosen by beside its light, where there is room for little.
DECIDING = ("darkest_edge", "blur", "uniformity", "structure")


def as_text(comparison: Comparison, verbose: bool = False) -> str:
    """Return the comparison for a terminal: a table as wide as it is, notes, and the answer.

    With `verbose` all figures with their errors, and where the light went.
    """
    if verbose:
        rows = figure_rows(comparison), ledger_rows(comparison)
        tables = [block for some in rows for block in folded(some, (1, len(some[0]) - 1), 2)]
    else:
        tables = folded(short_rows(comparison), (1,), 2)[:1]
    if comparison.title:
        tables[0] = f"{paragraph(comparison.title)}:\n{tables[0]}"
    told = notes(comparison) if verbose else short_notes(comparison)
    words = "\n".join(paragraph(note, "", "  ") for note in told)
    return "\n\n".join([*tables, words, *(paragraph(line) for line in answer(comparison))])


def as_markdown(comparison: Comparison) -> str:
    """Return the comparison as two Markdown tables and the notes that belong to them."""
    parts = [_markdown(figure_rows(comparison)), "", _markdown(ledger_rows(comparison)), ""]
    if comparison.title:
        parts = [f"{markdown_line(comparison.title)}:", "", *parts]
    return "\n".join([*parts, *(f"- {markdown_line(note)}" for note in notes(comparison))]) + "\n"


def as_csv(comparison: Comparison) -> str:
    """Return the comparison as CSV: every figure of merit with its error, in full digits."""
    heads: list[object] = []
    for name, figure in FIGURES.items():
        unit = f" [{figure.unit}]" if figure.unit else ""
        heads += [name + unit, f"{name} error{unit}"]
    rows: list[list[object]] = [
        ["rank", "design", "photons", "seed", *heads]
        + ["difference [lm]", "difference error [lm]", "verdict"]
        + [f"{name} [%]" for name in LEDGER_GROUPS.values()]
    ]
    for rank, design, change in comparison.ranked:
        cells: list[object] = [rank, design.label, design.result.photons, design.result.seed]
        for name, figure in FIGURES.items():
            estimate = design.result.estimate(name)
            cells += [estimate.value * figure.scale, estimate.error * figure.scale]
        cells += ["", ""] if change is None else [change.value, change.error]
        cells.append(comparison.verdict(change))
        cells += [100.0 * share for share in ledger_shares(design.result).values()]
        rows.append(cells)
    return csv_text(rows)


def notes(comparison: Comparison) -> list[str]:
    """Return the sentences without which the table could mislead."""
    counts = {design.result.photons for design in comparison.designs}
    count = f"{min(counts):,}" if len(counts) == 1 else f"{min(counts):,} to {max(counts):,}"
    pairing = (
        "All designs shared their random numbers, so errors of differences are those of pairs"
        if comparison.all_paired
        else "Some designs did not share seed, photon count and guide of the emission, so their "
        "errors add up"
    )
    shown = [FIGURES[name] for name in comparison.figures]
    return [
        *_warnings(comparison),
        f"± is one standard error, from {count} photons a design; differences are to "
        f"'{comparison.reference.label}' in collected lumens.",
        "'real': luck alone would call a difference of this table real once in 100 tables, and "
        "light given up could not have made it.",
        f"{pairing}.",
        *(f"{figure.words}: {figure.meaning}." for figure in shown if figure.meaning),
    ]


def _warnings(comparison: Comparison) -> list[str]:
    return [
        f"{design.label}: {words}"
        for design in comparison.designs
        for words in caveats(design.result)
    ]


def figure_rows(comparison: Comparison) -> list[list[str]]:
    """Return the designs with their figures of merit, ranked, the headings first."""
    figures = [FIGURES[name] for name in comparison.figures]
    heads = [figure.heading for figure in figures]
    rows = [["", "design", *heads, "difference, lm", ""]]
    for rank, design, change in comparison.ranked:
        cells = [design.result.estimate(one.name).text(one.scale) for one in figures]
        moved = "" if change is None else _signed(change.text())
        rows.append([str(rank), design.label, *cells, moved, comparison.verdict(change)])
    return rows


def ledger_rows(comparison: Comparison) -> list[list[str]]:
    """Return where each design's light went, the headings first."""
    rows = [["", "where the light went, %", *LEDGER_GROUPS.values(), "most by"]]
    for rank, design in enumerate(comparison.designs, 1):
        shares = ledger_shares(design.result)
        losses = [fate for fate in design.result.fates if fate.group != "stop"]
        worst = max(losses, key=lambda fate: fate.photons)
        most = f"{worst.name} {100.0 * worst.photons / design.result.photons:.1f}"
        cells = [f"{100.0 * share:.1f}" for share in shares.values()]
        rows.append([str(rank), design.label, *cells, most])
    return rows


def short_rows(comparison: Comparison) -> list[list[str]]:
    """Return the designs with few digits, what decides first, empty columns left out.

    With errors: the light and what was asked for. Other figures end where luck begins. The light
    against the reference is told where it is more than luck.
    """
    asked = [name for name in comparison.asked if not name.startswith("collected")]
    usual = [*DECIDING, *comparison.figures[1:]]
    rest = [name for name in dict.fromkeys(usual) if name not in asked]
    units = {name: FIGURES[name].heading for name in (RANKED_BY, *asked, *rest)}
    heads = [units[name] for name in (RANKED_BY, *asked)]
    against = f"against no. {comparison.place}"
    rows = [["", "design", *heads, against, *(units[name] for name in rest)]]
    for rank, design, difference in comparison.ranked:
        sure = [design.result.estimate(n).text(FIGURES[n].scale) for n in (RANKED_BY, *asked)]
        short = [few_digits(design.result.estimate(n), FIGURES[n].scale) for n in rest]
        change = change_words(comparison, design, difference)
        rows.append([str(rank), shortened(design.label), *sure, change, *short])
    told = [k for k, (_, *cells) in enumerate(zip(*rows, strict=True)) if {*cells} - {"n/a"}]
    return [[row[k] for k in told] for row in rows]


def short_notes(comparison: Comparison) -> list[str]:
    """Return what the short table does not explain itself."""
    long = [
        f"No. {rank} is '{design.label}'."
        for rank, design in enumerate(comparison.designs, 1)
        if shortened(design.label) != design.label
    ]
    luck = (
        "± is one standard error; other figures end where luck begins. 'Not shown': a difference "
        "that may be luck. More: --verbose, --out."
    )
    return [*_warnings(comparison), *long, luck]


def _signed(text: str) -> str:
    return text if text.startswith(("-", "n")) else "+" + text


def _markdown(rows: Sequence[Sequence[str]]) -> str:
    return markdown_table(rows, left=(1, len(rows[0]) - 1))
