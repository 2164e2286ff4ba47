"""The words around the figures of a study: its title, and in small print how sure it is."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from photonsim.figures.layout import wrapped
from photonsim.figures.style import GREY
from photonsim.results.files.study_table import FIGURE, StudyTable


def give_study_title(figure: Figure, table: StudyTable, subject: str, small_print: str) -> None:
    """Write the subject and the scene's title above, the number of designs and a note below."""
    title = wrapped(f"{subject}: {table.title or 'untitled'}", 0.075, figure.get_figwidth())
    figure.suptitle(title, x=0.012, ha="left")
    note = f"{len(table):,} designs; {small_print}" if small_print else f"{len(table):,} designs"
    note = wrapped(note, 0.045, figure.get_figwidth())
    figure.supxlabel(note, x=0.988, ha="right", fontsize=6.0, color=GREY)


def strongest_errors(table: StudyTable) -> str:
    """Return the typical (median) standard error of every figure, in words."""
    parts = []
    for column in table.with_role(FIGURE):
        if column.errors is None or not np.isfinite(column.errors).any():
            continue
        typical = float(np.nanmedian(column.errors))
        unit = f" {column.unit}" if column.unit else ""
        parts.append(f"{column.label} ±{typical:.2g}{unit}")
    return "typical standard errors: " + ", ".join(parts) if parts else ""
