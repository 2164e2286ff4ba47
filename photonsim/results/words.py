"""The one way out for words that come from a scene, a file or its name: they stay words.

Control characters are shown and never sent, to a terminal least of all; in Markdown nothing of them
is a link, a picture, a table's edge or HTML; in CSV no cell begins like a formula. In HTML the
page's template escapes them, in SVG and PDF the drawing library.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

# Control characters, line and paragraph separators, and those that turn the way of reading round.
CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff]")
# Whatever can begin or end something in Markdown or in the HTML within it (CommonMark 0.31, 2.4:
# a backslash before any ASCII punctuation makes it a letter).
_MARKUP = re.compile(r"[\\`*_{}\[\]<>()#+!|~$&^]")
# An address alone becomes a link in many programs that show Markdown.
_ADDRESS = re.compile(r"(?i)(?<=[a-z])://|(?<=www)\.|@")
# What spreadsheets take for the start of a formula (OWASP, CSV Injection).
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def visible(text: str, but: str = "\n\t") -> str:
    """Return a text with its control characters written out, as \\x1b, all but some."""
    return CONTROL.sub(lambda found: found[0] if found[0] in but else ascii(found[0])[1:-1], text)


def markdown(text: str) -> str:
    """Return words as Markdown shows them letter by letter, on one line."""
    escaped = _MARKUP.sub(lambda found: "\\" + found[0], visible(" ".join(text.split()), ""))
    # Letters that begin a list or a number with a point only do so at the start of a line.
    escaped = re.sub(r"^([-=]|\d+(?=\.))", lambda found: _as_entity(found[0]), escaped)
    return _ADDRESS.sub(lambda found: _as_entity(found[0]), escaped)


def _as_entity(text: str) -> str:
    return text[:-1] + f"&#{ord(text[-1])};"


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
    return f"'{shown}" if shown.lstrip().startswith(_FORMULA) else shown
