"""Text for a terminal: plain numbers, paragraphs that keep them beside their units, tables."""

import math
import re
import shutil
import textwrap
from collections.abc import Container, Iterable, Sequence

# Characters of a line: what every terminal has, and a paragraph that is easy to read.
LINE = 80

_TOGETHER = re.compile(
    r"(?<=\d) (?=mm|lm|lx|px|%|±|times|\d)|(?<=±) |(?<=[A-Za-z]) (?==)|(?<==) (?=[-\d])"
)


def screen_columns() -> int:
    """Characters of a table's line: as many as the terminal or COLUMNS has, LINE at least."""
    return max(LINE, shutil.get_terminal_size((LINE, 24)).columns)


def paragraph(text: str, first: str = "", rest: str = "", width: int = LINE) -> str:
    """Wrap text to a width in characters; `first` stands before line one, `rest` before others.

    Words longer than a line, such as the names of files, stay whole.
    """
    held = _TOGETHER.sub("\N{NO-BREAK SPACE}", text)
    filled = textwrap.fill(
        held,
        width,
        initial_indent=first,
        subsequent_indent=rest,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return filled.replace("\N{NO-BREAK SPACE}", " ")


def bullets(lines: Iterable[str]) -> str:
    """Paragraphs, each behind a dash."""
    return "\n".join(paragraph(line, "  - ", "    ") for line in lines)


def aligned(rows: Sequence[Sequence[str]], left: Container[int], ruled: bool = False) -> str:
    """Columns in line, those numbered in `left` to the left.

    `ruled` underlines the headings, the first row, and wraps those wider than their column.
    """
    heads = 0
    if ruled:
        stacked = _stacked_heads(rows)
        rows, heads = [*stacked, *rows[1:]], len(stacked)
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = [
        "  ".join(
            cell.ljust(width) if k in left else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
    if ruled:
        lines.insert(heads, "  ".join("-" * width for width in widths))
    return "\n".join(lines)


def _stacked_heads(rows: Sequence[Sequence[str]]) -> list[list[str]]:
    """Return the headings as rows of their own, each word no farther from the rule than need be."""
    stacks = []
    for head, *cells in zip(*rows, strict=True):
        width = max(map(len, [*cells, *re.split(r"(?<=-)| ", head)]))
        stacks.append(textwrap.wrap(head, max(width, 1)))
    height = max(map(len, stacks))
    return [list(row) for row in zip(*([""] * (height - len(s)) + s for s in stacks), strict=True)]


def folded(
    rows: Sequence[Sequence[str]], left: Container[int], keep: int, width: int | None = None
) -> list[str]:
    """Return a ruled table in as many blocks as its columns ask for, each as wide as the screen.

    Every block begins with the first `keep` columns.
    """

    def block(chosen: Sequence[int]) -> str:
        at_left = [place for place, k in enumerate(chosen) if k in left]
        return aligned([[row[k] for k in chosen] for row in rows], at_left, ruled=True)

    first = list(range(keep))
    blocks, chosen = [], list(first)
    for k in range(keep, len(rows[0])):
        wide = max(map(len, block([*chosen, k]).splitlines())) > (width or screen_columns())
        if wide and len(chosen) > keep:
            blocks.append(block(chosen))
            chosen = list(first)
        chosen.append(k)
    return [*blocks, block(chosen)]


def shortened(name: str, most: int = 30) -> str:
    """A name in so many characters: its beginning and its end, where what differs may stand."""
    half = (most - 1) // 2
    return name if len(name) <= most else f"{name[: most - 1 - half]}…{name[-half:]}"


def number(value: float, digits: int = 3) -> str:
    """A finite number with so many significant digits, never with an exponent."""
    text = f"{value:.{digits}g}"
    if "e" not in text:
        return text
    places = digits - 1 - math.floor(math.log10(abs(value)))
    return f"{round(value, places):,.{max(0, places)}f}".replace(",", " ")


def percent(share: float) -> str:
    """A share as a percentage with three significant digits."""
    return f"{number(100.0 * share)} %"
