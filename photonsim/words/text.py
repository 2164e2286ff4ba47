"""Text for a terminal: plain numbers, paragraphs that keep them beside their units, tables."""

import math
import re
import textwrap
from collections.abc import Container, Iterable, Sequence

LINE = 96  # characters: a paragraph's comfortable width on a terminal

_TOGETHER = re.compile(r"(?<=\d) (?=mm|lm|%|times|\d)|(?<=z) (?==)|(?<==) (?=[-\d])")


def paragraph(text: str, width: int, first: str, rest: str) -> str:
    """Wrap text to a width in characters; `first` stands before line one, `rest` before others."""
    held = _TOGETHER.sub("\N{NO-BREAK SPACE}", text)
    filled = textwrap.fill(held, width, initial_indent=first, subsequent_indent=rest)
    return filled.replace("\N{NO-BREAK SPACE}", " ")


def bullets(lines: Iterable[str], width: int = LINE) -> str:
    """Paragraphs, each behind a dash."""
    return "\n".join(paragraph(line, width, "  - ", "    ") for line in lines)


def aligned(rows: Sequence[Sequence[str]], left: Container[int], ruled: bool = False) -> str:
    """Columns in line, those numbered in `left` to the left; `ruled` underlines the headings."""
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = [
        "  ".join(
            cell.ljust(width) if k in left else cell.rjust(width)
            for k, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
    if ruled:
        lines.insert(1, "  ".join("-" * width for width in widths))
    return "\n".join(lines)


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
