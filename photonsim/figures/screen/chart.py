"""A test chart of our own: lines, grey steps, fields, a grid and fine text, pixel for pixel."""

from __future__ import annotations

from functools import lru_cache
from textwrap import shorten

import matplotlib
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from photonsim.arrays import Reals
from photonsim.figures.style import plain_style

LINE_PITCHES = (2, 3, 4, 6, 8)
GRID_CELLS = (8, 12)
PAPER, INK, GRID_GREY = 0.75, 0.02, 0.35
# Size of the letters in pixels, and height of the line in the chart.
TEXT_LINES = {6: 0.375, 8: 0.33, 10: 0.28, 14: 0.215}
TEXT_SHARE = 0.26
WORDS = "curtain up at seven: the wolf, the lantern and the moon"


@lru_cache(maxsize=1)
def chart_picture(rows: int, columns: int) -> Reals:
    """Return the chart [rows, columns, 3], sRGB values from 0 to 1, row 0 at the top."""
    chart = np.full((rows, columns), PAPER)
    for k in range(GRID_CELLS[0] + 1):
        chart[min(rows - 1, k * rows // GRID_CELLS[0])] = GRID_GREY
    for k in range(GRID_CELLS[1] + 1):
        chart[:, min(columns - 1, k * columns // GRID_CELLS[1])] = GRID_GREY
    size = max(8, min(rows, columns) // 6)
    for down, right in ((0, 0), (0, 1), (1, 0), (1, 1), (0.5, 0.5), (0.5, 0), (0.5, 1)):
        top, left = round(down * (rows - size)), round(right * (columns - 2 * size))
        chart[top : top + size, left : left + 2 * size] = _lines(size)
    height = max(4, rows // 12)
    _steps(chart, rows // 4 - height // 2, height)
    _fields(chart, rows - rows // 4 - height, 2 * height)
    chart = np.minimum(chart, _text(rows, columns))
    picture = np.repeat(chart[:, :, None], 3, axis=2)
    picture.flags.writeable = False
    return picture


def _lines(size: int) -> Reals:
    """Return a block [size, 2 size] of lines at every pitch: upright ones left, level right."""
    block = np.ones((size, 2 * size))
    band = size // len(LINE_PITCHES)
    gap = band // 5
    place = np.arange(size)
    for k, pitch in enumerate(LINE_PITCHES):
        dark = np.where(place % pitch < pitch / 2, 0.0, 1.0)
        first, last = k * band, (k + 1) * band - gap
        block[first:last, :size] = dark
        block[:, size + first : size + last] = dark[:, None]
    return block


def _steps(chart: Reals, top: int, height: int) -> None:
    """Draw eleven grey steps from black to white across the middle half."""
    columns = chart.shape[1]
    edges = np.linspace(columns // 4, columns - columns // 4, 12).astype(int)
    for k in range(11):
        chart[top : top + height, edges[k] : edges[k + 1]] = k / 10.0


def _fields(chart: Reals, top: int, height: int) -> None:
    """Draw a white and a black field beside one another, each with a spot of the other."""
    columns = chart.shape[1]
    left, middle, right = columns * 3 // 8, columns // 2, columns * 5 // 8
    chart[top : top + height, left:middle] = 1.0
    chart[top : top + height, middle:right] = 0.0
    spot = max(1, height // 8)
    centre = top + height // 2
    for place, grey in (((left + middle) // 2, 0.0), ((middle + right) // 2, 1.0)):
        chart[centre - spot : centre + spot, place - spot : place + spot] = grey


@plain_style()
def _text(rows: int, columns: int) -> Reals:
    """Return lines of text from 6 to 14 pixels tall, dark on white, [rows, columns]."""
    dpi = 72.0  # a point is a pixel
    figure = Figure(figsize=(columns / dpi, rows / dpi), dpi=dpi, facecolor="white")
    canvas = FigureCanvasAgg(figure)
    for points, height in TEXT_LINES.items():
        # A letter is 0.6 of its size wide on average; a line has a quarter of the chart.
        words = shorten(WORDS, max(8, round(TEXT_SHARE * columns / (0.6 * points))), placeholder="")
        for x in (0.22, 0.78):
            figure.text(x, height, words, fontsize=points, ha="center", color=str(INK))
    # Of so few dots letters are read more easily if they are moved to them, as a computer does.
    with matplotlib.rc_context({"text.hinting": "default"}):
        canvas.draw()
    drawn = np.asarray(canvas.buffer_rgba())[:, :, 0] / 255.0
    return drawn[:rows, :columns]
