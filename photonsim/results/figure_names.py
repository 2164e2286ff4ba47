"""Finding a figure of merit by what people write: its name, its words, or its name of old."""

from __future__ import annotations

import re
from difflib import get_close_matches

from photonsim.results.errors import ResultError
from photonsim.results.registry import FIGURES, Figure

# What figures were called up to 0.3.0.
NAMES_OF_OLD = {
    "evenness": "uniformity",
    "evenness_max": "uniformity_max",
    "incident_evenness": "incident_uniformity",
    "incident_evenness_max": "incident_uniformity_max",
    "spread_deg": "rms_angle_deg",
}
# A slip of the pen leaves so much of a name alike.
ALIKE = 0.6


def figure_named(text: str) -> Figure:
    """Return the figure of merit of a name, or of the words in the heading of a table or a CSV.

    Capitals and punctuation don't count. Raises ResultError, which tells what is near and what
    there is.
    """
    if not isinstance(text, str):
        raise TypeError(f"a figure of merit is named by its name or words, not by {text!r}")
    if text in FIGURES:
        return FIGURES[text]
    known = {_folded(old): FIGURES[new] for old, new in NAMES_OF_OLD.items()}
    for figure in FIGURES.values():
        for words in (figure.name, figure.words, figure.heading, f"{figure.name} {figure.unit}"):
            known[_folded(words)] = figure
    found = known.get(_folded(text))
    if found is None:
        raise ResultError(f"no figure {text!r}{_near(text, known)}; there are {', '.join(FIGURES)}")
    return found


def better_of(name: str) -> int:
    """Return which way the figure of a table's column is better; 0 of one that is gone since."""
    try:
        return figure_named(name).better
    except ResultError:
        return 0


def _near(text: str, known: dict[str, Figure]) -> str:
    near = get_close_matches(_folded(text), known, 3, ALIKE)
    names = list(dict.fromkeys(known[words].name for words in near))
    return f"; did you mean {' or '.join(names)}?" if names else ""


def _folded(text: str) -> str:
    """Return letters and digits alone, small, words apart by one space."""
    return " ".join(re.findall(r"[^\W_]+", text.casefold()))
