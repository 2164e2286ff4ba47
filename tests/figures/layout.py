"""Whether the words of a figure can be read: inside it, apart from one another, large enough."""

import itertools
from unittest.mock import patch

from matplotlib.text import Text
from matplotlib.transforms import Bbox

from photonsim.figures.style import plain_style

# Rounding of glyph boxes, in pixels at 100 dots per inch.
SLACK = 1.0
# Print is read from some 40 cm; 6 points are the least that publishers take (common practice).
LEAST_PT = 6.0


def words_of(figure, clipped=False):
    """Return (words, box in pixels, size in points) for all text that is drawn in a figure.

    Where `clipped`, only what of the box is seen. Taken from the drawing itself: matplotlib keeps
    labels of ticks that it does not draw.
    """
    drawn = []
    draw = Text.draw

    def note_and_draw(text, renderer, *args, **kwargs):
        if text.get_visible() and text.get_text().strip():
            drawn.append(text)
        draw(text, renderer, *args, **kwargs)

    with plain_style(), patch.object(Text, "draw", note_and_draw):
        figure.draw_without_rendering()
        boxes = [_seen(text) if clipped else text.get_window_extent() for text in drawn]
    return [(text.get_text(), box, text.get_fontsize())
            for text, box in zip(drawn, boxes, strict=True) if box is not None]  # fmt: skip


def _seen(text):
    box, clip = text.get_window_extent(), text.get_clip_box()
    return Bbox.intersection(box, clip) if text.get_clip_on() and clip is not None else box


def assert_readable(figure, tiled=False):
    """Fail with the words that leave the figure, overlap others, or are too small in print.

    A page that is `tiled` cuts words as it cuts lines: they go on on the page it is joined to.
    """
    words = words_of(figure, clipped=tiled)
    frame = figure.bbox
    outside = [
        text
        for text, box, _ in words
        if box.x0 < frame.x0 - SLACK
        or box.y0 < frame.y0 - SLACK
        or box.x1 > frame.x1 + SLACK
        or box.y1 > frame.y1 + SLACK
    ]
    assert tiled or not outside, f"text leaves the figure: {outside}"
    overlapping = [
        (one, other)
        for (one, a, _), (other, b, _) in itertools.combinations(words, 2)
        if min(a.x1, b.x1) - max(a.x0, b.x0) > SLACK and min(a.y1, b.y1) - max(a.y0, b.y0) > SLACK
    ]
    assert not overlapping, f"texts overlap: {overlapping}"
    small = [text for text, _, size in words if size < LEAST_PT]
    assert not small, f"text under {LEAST_PT:g} pt: {small}"
