"""The preview: a picture on the screen as the audience would see it, one design or many."""

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
from photonsim.figures.layout import Sheet, fitted, provenance
from photonsim.figures.screen.appearance import seen, to_srgb
from photonsim.figures.screen.chart import chart_picture
from photonsim.figures.study.comparison import maps_across
from photonsim.figures.style import PRINT, Look, plain_style
from photonsim.results import Result, ResultError, screen_of
from photonsim.results.remarks.caveats import caveats

# Details beside the whole picture: middle, edge and corner, each a fifth of the width.
DETAILS = {"middle": (0.5, 0.5), "right edge": (0.5, 0.9), "upper right corner": (0.1, 0.9)}
DETAIL_SHARE = 0.2
# What a narrow picture has room for.
BESIDE = {"middle": DETAILS["middle"], "corner": DETAILS["upper right corner"]}
FEW_DETAILS_IN = 2.6
SIZE_PT = 7.0
MARGIN_IN, GAP_IN, BETWEEN_IN = 0.08, 0.16, 0.06
# Room for three lines above a picture, for one more, and for one above a detail.
WORDS_IN, LINE_IN, NAME_IN = 0.44, 0.122, 0.16
MOST_LINES = 2


def read_picture(path: str | PathLike[str]) -> Reals:
    """Return a picture file as sRGB values [rows, columns, 3], 0 to 1. Raises ResultError."""
    if not Path(path).is_file():
        is_there = Path(path).exists()
        why = "is a folder or no ordinary file" if is_there else "there is no such file"
        raise ResultError(f"{path}: {why}")
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
def draw_preview(
    designs: Sequence[tuple[str, Result]], picture: Reals | None = None, look: Look = PRINT
) -> Figure:
    """Return the picture as seen with each design, given as (label, result), and details of it.

    Without a picture it is the test chart. All designs share one exposure: the brightest place of
    the brightest design is white, so that a dimmer lamp looks dimmer. Raises ResultError where a
    scene has no screen.
    """
    looks = [_seen(result, picture) for _, result in designs]
    # One grain of noise must not set the exposure.
    white = max(float(np.percentile(shown, 99.5)) for shown in looks) or 1.0
    across = min(len(designs), maps_across(len(designs), look))
    rows = -(-len(designs) // across)
    width = (look.width_in - 2.0 * MARGIN_IN - (across - 1) * GAP_IN) / across
    ratio = max(shown.shape[0] / shown.shape[1] for shown in looks)
    details = DETAILS if width > FEW_DETAILS_IN else BESIDE
    detail = (width - (len(details) - 1) * BETWEEN_IN) / len(details)
    names = [f"{k}  {label}" for k, (label, _) in enumerate(designs, start=1)]
    names = names if len(designs) > 1 else [designs[0][0]]
    names = [fitted(name, width, SIZE_PT, MOST_LINES) for name in names]
    words_in = WORDS_IN + LINE_IN * max(name.count("\n") for name in names)
    cell = words_in + ratio * width + NAME_IN + ratio * detail + GAP_IN
    warnings = [f"{label}: {words}" for label, result in designs for words in caveats(result)]
    runs = "; ".join(dict.fromkeys(provenance(result) for _, result in designs))
    title = f"As the audience sees it: the white of this page stands for {white:.2g} cd/m²"
    sheet = Sheet(look, title, rows * cell, runs, warnings)
    head = sheet.top
    drawn = zip(names, designs, looks, strict=True)
    for k, (name, (_, result), shown) in enumerate(drawn):
        row, column = divmod(k, across)
        left, top = MARGIN_IN + column * (width + GAP_IN), head - row * cell
        words = "\n".join((name, *_light(result)))
        across_in, up_in = sheet.figure.get_size_inches()
        sheet.figure.text(
            left / across_in, top / up_in, words, fontsize=SIZE_PT, va="top", linespacing=1.25
        )
        top -= words_in + ratio * width
        show_picture(sheet.axes(left, top, width, ratio * width), shown / white)
        top -= NAME_IN + ratio * detail
        for place, (where, spot) in enumerate(details.items()):
            axes = sheet.axes(left + place * (detail + BETWEEN_IN), top, detail, ratio * detail)
            show_picture(axes, _cut(shown, spot) / white)
            axes.set_title(where, fontsize=6.0, pad=2.0)
    return sheet.figure


def _seen(result: Result, picture: Reals | None) -> Reals:
    panel = result.scene.panel
    return seen(result, chart_picture(panel.rows, panel.columns) if picture is None else picture)


def _light(result: Result) -> tuple[str, str]:
    """Return the light of a white picture and its width, in words."""
    view = screen_of(result)
    lux = view.mean_lux.text(1.0, "lx")
    screen = result.scene.screen
    room = screen.room_lux if screen is not None else 0.0
    return f"white {lux}", f"room {room:g} lx; {view.size_mm[0] / 1000.0:.2f} m wide"


def show_picture(axes: Axes, light: Reals) -> None:
    """Draw light [rows, columns, 3], linear, 1 for white, on axes as a screen would show it."""
    pixels = np.round(255.0 * to_srgb(light)).astype(np.uint8)
    # Opaque, or else matplotlib makes double precision of it, which takes half as long again.
    pixels = np.dstack((pixels, np.full(pixels.shape[:2], 255, dtype=np.uint8)))
    axes.imshow(pixels, interpolation="antialiased")
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
