"""Paragraphs for a terminal: wrapped, with numbers kept beside their units."""

import re
import textwrap

_TOGETHER = re.compile(r"(?<=\d) (?=mm|lm|%|times|\d)|(?<=z) (?==)|(?<==) (?=[-\d])")


def paragraph(text: str, width: int, first: str, rest: str) -> str:
    """Wrap text to a width in characters; `first` stands before line one, `rest` before others."""
    held = _TOGETHER.sub("\N{NO-BREAK SPACE}", text)
    filled = textwrap.fill(held, width, initial_indent=first, subsequent_indent=rest)
    return filled.replace("\N{NO-BREAK SPACE}", " ")
