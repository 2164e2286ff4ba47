"""Whether the words of a figure can be read: inside it, and not on top of one another."""

import itertools

from matplotlib.text import Text

# Rounding of glyph boxes, in pixels at 100 dots per inch.
SLACK = 1.0


def words_of(figure):
    """Return (words, box in pixels) for all text that is drawn in a figure."""
    figure.draw_without_rendering()
    found = []
    for artist in figure.findobj(Text):
        if artist.get_visible() and artist.get_text().strip() and _is_shown(artist):
            found.append((artist.get_text(), artist.get_window_extent()))
    return found


def assert_readable(figure):
    """Fail with the words that leave the figure or that overlap others."""
    words = words_of(figure)
    frame = figure.bbox
    outside = [
        text
        for text, box in words
        if box.x0 < frame.x0 - SLACK
        or box.y0 < frame.y0 - SLACK
        or box.x1 > frame.x1 + SLACK
        or box.y1 > frame.y1 + SLACK
    ]
    assert not outside, f"text leaves the figure: {outside}"
    overlapping = [
        (one, other)
        for (one, a), (other, b) in itertools.combinations(words, 2)
        if min(a.x1, b.x1) - max(a.x0, b.x0) > SLACK and min(a.y1, b.y1) - max(a.y0, b.y0) > SLACK
    ]
    assert not overlapping, f"texts overlap: {overlapping}"


def _is_shown(text):
    """Tell whether a text belongs to no axis, or is one of the tick labels within its limits."""
    axes = text.axes
    if axes is None:
        return True
    if not axes.axison:
        return False
    for axis in (axes.xaxis, axes.yaxis):
        ticks = axis.get_major_ticks() + axis.get_minor_ticks()
        labels = [label for tick in ticks for label in (tick.label1, tick.label2)]
        if text in labels:
            low, high = sorted(axis.get_view_interval())
            places = [tick.get_loc() for tick in ticks if text in (tick.label1, tick.label2)]
            return all(low - 1e-9 <= place <= high + 1e-9 for place in places)
    return True
