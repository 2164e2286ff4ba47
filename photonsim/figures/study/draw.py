"""Studies as figures: whichever view suits a table's kind and its number of parameters."""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

from photonsim.figures.saving import save_figure
from photonsim.figures.study.curves import draw_curves, draw_map
from photonsim.figures.study.many import draw_front, draw_parallel, draw_search
from photonsim.figures.study.tolerance import draw_scatter, draw_shares
from photonsim.figures.style import PRINT, Look
from photonsim.results.files.study_table import PARAMETER, StudyTable

# A grid is drawn as a map if it has at least this many values each way.
FEWEST_EACH_WAY = 2


def draw_study(
    table: StudyTable, folder: str | PathLike[str], stem: str, formats: Sequence[str] = ("png",)
) -> list[Path]:
    """Draw the figures that belong to a study and return the paths of the files."""
    written = []
    for suffix, figure in study_figures(table).items():
        written += save_figure(figure, folder, f"{stem}-{suffix}", formats)
    return written


def study_figures(table: StudyTable, look: Look = PRINT) -> dict[str, Figure]:
    """Return the figures of a study by a short name."""
    if table.kind == "tolerance":
        return {"scatter": draw_scatter(table, look), "shares": draw_shares(table, look)}
    if table.kind == "front":
        return {"front": draw_front(table, look), "parallel": draw_parallel(table, look)}
    if table.kind == "tune":
        return {"search": draw_search(table, look), "parallel": draw_parallel(table, look)}
    parameters = table.with_role(PARAMETER)
    if len(parameters) == 1:
        return {"curves": draw_curves(table, look)}
    if len(parameters) == 2 and is_grid(table):
        return {"map": draw_map(table, look)}
    return {"parallel": draw_parallel(table, look)}


def is_grid(table: StudyTable) -> bool:
    """Tell whether two parameters were varied over every combination of their values."""
    one, other = (np.unique(column.values) for column in table.with_role(PARAMETER))
    return len(one) * len(other) == len(table) and min(len(one), len(other)) >= FEWEST_EACH_WAY
