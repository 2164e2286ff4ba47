"""Figures to files: the same figure gives the same bytes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from io import BytesIO
from os import PathLike
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from PIL import Image, PngImagePlugin

from photonsim.figures.style import plain_style
from photonsim.results import ResultError
from photonsim.results.files.writing import write_file

FORMATS = ("png", "svg", "pdf")


# At page width some 1260 pixels: sharp on a screen. For print there are SVG and PDF, or more dots.
DOTS_PER_INCH = 200
COLOURS = 256
# The second and further ones are for whoever opens an SVG without the first.
FONTS = ["DejaVu Sans", "Verdana", "Arial", "Helvetica"]


@plain_style()
def figure_bytes(figure: Figure, form: str, dots_per_inch: int = DOTS_PER_INCH) -> bytes:
    """Return a figure as a file's content, 'png', 'svg' or 'pdf'.

    Raises KeyError for another form.
    """
    before, buffer = figure.dpi, BytesIO()
    figure.dpi = dots_per_inch
    _WRITERS[form](figure, buffer)
    figure.dpi = before
    return buffer.getvalue()


@plain_style()
def small_png(figure: Figure, dots_per_inch: int) -> bytes:
    """Return a figure as a PNG of at most 256 colours, some four times as small."""
    picture = Image.open(BytesIO(figure_bytes(figure, "png", dots_per_inch)))
    buffer = BytesIO()
    colours = picture.quantize(COLOURS, Image.Quantize.MEDIANCUT, dither=Image.Dither.NONE)
    colours.save(buffer, "png", optimize=True)
    return buffer.getvalue()


# Each draws in one pass, where `savefig` would first draw all of it to see how large it is. Neither
# a date nor a version goes into a file.
def _png(figure: Figure, buffer: BytesIO) -> None:
    canvas = FigureCanvasAgg(figure)
    canvas.draw()
    pixels = np.asarray(canvas.buffer_rgba())
    red, green, blue = (pixels[..., k] for k in range(3))
    # A picture in grey is kept as one: a third of the work, and of the file.
    grey = bool((red == green).all() and (red == blue).all())
    picture = Image.fromarray(pixels).convert("L" if grey else "RGB")
    note = PngImagePlugin.PngInfo()
    note.add_text("Software", "photonsim")
    picture.save(buffer, "png", compress_level=2, dpi=(figure.dpi, figure.dpi), pnginfo=note)


def _svg(figure: Figure, buffer: BytesIO) -> None:
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    metadata = {"Creator": "photonsim", "Date": None}
    with matplotlib.rc_context({"font.sans-serif": FONTS}):
        FigureCanvasSVG(figure).print_svg(buffer, metadata=metadata)


def _pdf(figure: Figure, buffer: BytesIO) -> None:
    from matplotlib.backends.backend_pdf import FigureCanvasPdf

    metadata = {"Creator": "photonsim", "Producer": "photonsim", "CreationDate": None}
    FigureCanvasPdf(figure).print_pdf(buffer, metadata=metadata)


_WRITERS: dict[str, Callable[[Figure, BytesIO], None]] = {"png": _png, "svg": _svg, "pdf": _pdf}


def save_figure(
    figure: Figure,
    folder: str | PathLike[str],
    stem: str,
    formats: Sequence[str] = ("png",),
    dots_per_inch: int = DOTS_PER_INCH,
) -> list[Path]:
    """Write a figure as folder/stem.format for each format and return the paths.

    The folder is made if need be. Raises ResultError for a foreign format or a place that cannot
    be written.
    """
    if unknown := [name for name in formats if name not in FORMATS]:
        raise ResultError(
            f"figures are written as {', '.join(FORMATS[:-1])} or {FORMATS[-1]}, "
            f"not as {', '.join(unknown)}"
        )
    written = []
    for name in formats:
        content = figure_bytes(figure, name, dots_per_inch)
        path = Path(folder) / f"{stem}.{name}"
        write_file(path, content)
        written.append(path)
    return written
