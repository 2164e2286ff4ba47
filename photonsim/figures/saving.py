"""Figures to files: the same figure gives the same bytes."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from os import PathLike
from pathlib import Path

from matplotlib.figure import Figure

from photonsim.figures.style import plain_style
from photonsim.results import ResultError
from photonsim.results.files.writing import write_file

# Fine enough for print, and at page width some 2200 pixels across.
DOTS_PER_INCH = 300

# Neither a date nor a version goes into a file.
METADATA: dict[str, dict[str, str | None]] = {
    "png": {"Software": "photonsim"},
    "svg": {"Creator": "photonsim", "Date": None},
}


@plain_style()
def figure_bytes(figure: Figure, form: str, dots_per_inch: int = DOTS_PER_INCH) -> bytes:
    """Return a figure as a file's content, 'png' or 'svg'. Raises KeyError for another form."""
    buffer = BytesIO()
    figure.savefig(buffer, format=form, dpi=dots_per_inch, metadata=METADATA[form])
    return buffer.getvalue()


def save_figure(
    figure: Figure,
    folder: str | PathLike[str],
    stem: str,
    formats: Sequence[str] = ("png", "svg"),
) -> list[Path]:
    """Write a figure as folder/stem.format for each format and return the paths.

    Formats are 'png' and 'svg'. The folder is made if need be. Raises ResultError for another
    format or a place that cannot be written.
    """
    if unknown := [name for name in formats if name not in METADATA]:
        raise ResultError(
            f"figures are written as {' or '.join(METADATA)}, not as {', '.join(unknown)}"
        )
    written = []
    for name in formats:
        content = figure_bytes(figure, name)
        path = Path(folder) / f"{stem}.{name}"
        write_file(path, content)
        written.append(path)
    return written
