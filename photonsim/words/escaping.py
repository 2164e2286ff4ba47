"""The one way out for words that come from a scene, a file or its name: they stay words.

Control characters are shown and never sent, to a terminal least of all; in Markdown nothing of them
is a link, a picture, a table's edge or HTML; in CSV no cell begins like a formula. In HTML the
page's template escapes them, in SVG and PDF the drawing library.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Container, Iterable, Sequence

from photonsim.scene.plain_text import CONTROL

# Whatever can begin or end something within a line of Markdown or of the HTML in it. A backslash
# before any ASCII punctuation makes it a letter (CommonMark 0.31, 2.4).
_MARKUP = re.compile(r"[\\`*_\[\]<>#|~$&]")
# An address alone becomes a link in many programs that show Markdown.
_ADDRESS = re.compile(r"(?i)(?<=[a-z]):(?=//|\w)|(?<=www)\.|@")
# What begins a list, a heading or a rule does so at the start of a line alone.
_LINE_START = re.compile(r"^(?:[-+=]|\d{1,9}(?=[.)]))")
# What spreadsheets take for the start of a formula (OWASP, CSV Injection).
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_NUMBER = re.compile(r"[-+]?\d*\.?\d+(?:e[-+]?\d+)?")


def visible(text: str, but: str = "\n\t") -> str:
    """Return a text with its control characters written out, as \\x1b, all but some."""
    return CONTROL.sub(lambda found: found[0] if found[0] in but else ascii(found[0])[1:-1], text)


def markdown(text: str) -> str:
    """Return words as Markdown shows them letter by letter, within a line."""
    escaped = _MARKUP.sub(_backslashed, visible(" ".join(text.split()), ""))
    return _ADDRESS.sub(_backslashed, escaped)


def markdown_line(text: str) -> str:
    """Return words as Markdown shows them letter by letter, as a paragraph of their own."""
    line = markdown(text)
    start = _LINE_START.match(line)
    return line if start is None else _LINE_START.sub(f"&#{ord(line[0])};{start[0][1:]}", line)


def markdown_table(rows: Iterable[Sequence[str]], left: Container[int]) -> str:
    """Return rows, headings first, as a Markdown table; columns in `left` are set to the left."""
    head, *body = ([markdown(cell) for cell in row] for row in rows)
    rule = ["---" if k in left else "---:" for k in range(len(head))]
    return "\n".join("| " + " | ".join(row) + " |" for row in (head, rule, *body))


def _backslashed(found: re.Match[str]) -> str:
    return "\\" + found[0]


def csv_text(rows: Iterable[Sequence[object]]) -> str:
    """Return rows as CSV; words that a spreadsheet would take for a formula get a leading '."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerows([_cell(cell) for cell in row] for row in rows)
    return out.getvalue()


def _cell(cell: object) -> object:
    if not isinstance(cell, str):
        return cell
    shown = visible(cell, "")
    if not shown.lstrip().startswith(_FORMULA) or _NUMBER.fullmatch(shown):
        return shown
    return f"'{shown}"
