"""The preview: a picture on the screen as the audience would see it, one or two designs."""

from __future__ import annotations

from collections.abc import Sequence
from os import PathLike
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.image import imread
from PIL.Image import DecompressionBombError

from photonsim.arrays import Reals
from photonsim.figures.screen.appearance import seen, to_srgb
from photonsim.figures.screen.chart import chart_picture
from photonsim.figures.style import (
    PAGE_WIDTH_IN,
    give_provenance,
    new_figure,
    plain_style,
    provenance,
    settle,
    wrapped,
)
from photonsim.results import Result, ResultError, screen_of
from photonsim.results.remarks.caveats import caveats

# Details beside the whole picture: middle, edge and corner, each a fifth of the width.
DETAILS = {"middle": (0.5, 0.5), "right edge": (0.5, 0.9), "upper right corner": (0.1, 0.9)}
DETAIL_SHARE = 0.2


def read_picture(path: str | PathLike[str]) -> Reals:
    """Return a picture file as sRGB values [rows, columns, 3], 0 to 1. Raises ResultError."""
    if not Path(path).is_file():
        raise ResultError(f"{path}: there is no such file")
    try:
        raw = np.asarray(imread(str(path)))
    except (OSError, ValueError, SyntaxError, DecompressionBombError) as error:
        raise ResultError(f"{path}: is not a picture that can be read ({error})") from None
    picture = raw / 255.0 if raw.dtype == np.uint8 else raw.astype(float)
    if picture.ndim == 2:
        picture = np.repeat(picture[:, :, None], 3, axis=2)
    if picture.shape[2] == 4:  # see-through parts show black, as no light is no light
        picture = picture[:, :, :3] * picture[:, :, 3:]
    if picture.shape[2] != 3 or min(picture.shape[:2]) < 2:
        raise ResultError(f"{path}: is not a picture in colour or grey")
    return np.clip(picture, 0.0, 1.0)


@plain_style()
def draw_preview(designs: Sequence[tuple[str, Result]], picture: Reals | None = None) -> Figure:
    """Return the picture as seen with each design, given as (label, result), and three details.

    Without a picture it is the test chart. All designs share one exposure: the brightest place of
    the brightest design is white, so that a dimmer lamp looks dimmer. Raises ResultError where a
    scene has no screen.
    """
    looks = []
    for _, result in designs:
        panel = result.scene.panel
        shown = chart_picture(panel.rows, panel.columns) if picture is None else picture
        looks.append(seen(result, shown))
    # One grain of noise must not set the exposure.
    white = max(float(np.percentile(look, 99.5)) for look in looks) or 1.0
    ratio = looks[0].shape[0] / looks[0].shape[1]
    width = PAGE_WIDTH_IN / len(designs)
    height = ratio * width * (1.0 + 1.0 / len(DETAILS)) + 1.1
    figure = new_figure(PAGE_WIDTH_IN, height)
    grid = figure.add_gridspec(2, len(DETAILS) * len(designs), height_ratios=[len(DETAILS), 1.2])
    for k, ((label, result), look) in enumerate(zip(designs, looks, strict=True)):
        first = len(DETAILS) * k
        axes = figure.add_subplot(grid[0, first : first + len(DETAILS)])
        _show(axes, look / white)
        axes.set_title(
            f"{wrapped(label, 0.065, width)}\n{wrapped(_light(result), 0.06, width)}",
            linespacing=1.3,
        )
        for column, (name, place) in enumerate(DETAILS.items()):
            detail = figure.add_subplot(grid[1, first + column])
            _show(detail, _cut(look, place) / white)
            detail.set_title(name, fontsize=6.5)
    figure.suptitle(
        f"As the audience sees it: the white of this page stands for {white:.2g} cd/m²",
        x=0.012,
        ha="left",
    )
    warnings = [f"{label}: {words}" for label, result in designs for words in caveats(result)]
    if warnings:
        runs = dict.fromkeys(provenance(result) for _, result in designs)
        give_provenance(figure, "; ".join(runs), warnings)
    return settle(figure)


def _light(result: Result) -> str:
    """Return the light of a white picture and its width, in words."""
    view = screen_of(result)
    lux = view.mean_lux.text(1.0, "lx")
    screen = result.scene.screen
    room = screen.room_lux if screen is not None else 0.0
    return f"white: {lux}, room: {room:g} lx; {view.size_mm[0] / 1000.0:.2f} m wide"


def _show(axes: Axes, light: Reals) -> None:
    axes.imshow(to_srgb(light), interpolation="antialiased")
    axes.set_axis_off()


def _cut(look: Reals, place: tuple[float, float]) -> Reals:
    rows, columns = look.shape[:2]
    height, width = max(2, round(rows * DETAIL_SHARE)), max(2, round(columns * DETAIL_SHARE))
    top = min(max(0, round(place[0] * rows - 0.5 * height)), rows - height)
    left = min(max(0, round(place[1] * columns - 0.5 * width)), columns - width)
    return look[top : top + height, left : left + width]


def picture_or_chart(path: Path | None) -> Reals | None:
    """Return the picture of a file, or None for the test chart where no file is named."""
    return None if path is None else read_picture(path)
