"""Figures of many designs with long names; whether words can be read: test_every_figure.py."""

import matplotlib
import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.figures import PRINT, draw_designs, draw_preview
from photonsim.figures.layout import fitted, row_width_in, shortened, text_width_in
from photonsim.figures.panel.maps import map_blocks, show_map, smooth_map
from photonsim.figures.study.comparison import (
    EDGE_IN,
    GAP_IN,
    LABEL_PT,
    MOST_LINES,
    RIM_IN,
    maps_across,
)
from photonsim.report.sections import LOOK
from photonsim.results import Estimate, Result
from photonsim.results.panel.blocks import block_noise
from photonsim.scene import load_scene
from tests.figures.layout import assert_readable, words_of
from tests.shipped import SCENES, scene

pytestmark = pytest.mark.filterwarnings("error")

LONG = "two crossed films from the broken screen, walls of mirror card, number"
WIDE = PRINT._replace(width_in=10.0, unit="lux", contours=True)


@pytest.fixture(scope="module")
def results():
    return [trace(scene(letter), photons=100_000) for letter in "dfb"]


def designs_of(results, count):
    return [(f"{LONG} {k}" if k % 3 else f"short {k}", results[k % 3]) for k in range(count)]


def test_marks_of_less_than_nothing_are_seen(monkeypatch, results):
    """By luck a structure next to none is below 0; its mark was cut off at the axis."""
    found, below = Result.estimate, Estimate(-0.02, 0.005)
    monkeypatch.setattr(
        Result,
        "estimate",
        lambda result, name: below if name == "structure" else found(result, name),
    )
    figure = draw_designs([("one", results[0]), ("other", results[1])], WIDE)
    marks = [axes for axes in figure.axes if "structure" in axes.get_title("left")]
    assert [axes.get_xlim()[0] < -2.5 for axes in marks] == [True]


def test_words_of_a_wide_comparison_can_be_read(results):
    assert_readable(draw_designs(designs_of(results, 9), WIDE))


@pytest.mark.parametrize("count", [1, 2, 9])
def test_previews_stand_apart(count, results):
    figure = draw_preview(designs_of(results, count), np.ones((27, 48, 3)))
    shown = [axes for axes in figure.axes if axes.images]
    boxes = [axes.get_window_extent() for axes in shown]
    assert not any(a.overlaps(b) for k, a in enumerate(boxes) for b in boxes[:k])
    assert len(shown) in (3 * count, 4 * count)


@pytest.mark.parametrize("count", range(1, 21))
def test_rows_of_small_pictures_are_nearly_full(count):
    across = maps_across(count)
    rows = -(-count // across)
    assert 2 <= across <= 4
    assert 0 <= rows * across - count < max(rows, 2)


def test_words_are_cut_to_a_width():
    cut = shortened(LONG, 1.0, 7.0)
    assert text_width_in(cut, 7.0) <= 1.0 < text_width_in(LONG, 7.0)
    assert cut.endswith(" …") and LONG.startswith(cut[:-2])
    assert shortened("short", 1.0) == "short"
    lines = fitted(LONG, 1.2, 7.0, 2).split("\n")
    assert len(lines) == 2 and all(text_width_in(line, 7.0) <= 1.2 for line in lines)
    assert LONG.startswith(" ".join(lines).removesuffix(" …"))
    assert fitted("unbreakablenameofalampwithoutend and more", 1.0, 7.0, 2).count("\n") == 1


def test_names_of_the_shipped_lamps_stand_whole_above_small_maps():
    """Of all ten, four in a row at most, on a page and in the narrow figures of a report."""
    names = [f"{number}  {load_scene(path).title}" for number, path in enumerate(SCENES, 1)]
    for look in (PRINT, LOOK):
        width = row_width_in(look, maps_across(len(names), look), EDGE_IN, GAP_IN, RIM_IN)
        assert not [name for name in names if "…" in fitted(name, width, LABEL_PT, MOST_LINES)]


def test_a_window_of_a_map_has_the_noise_that_is_told(results):
    """Even light with Poisson's noise: the scatter over the map is that of the stated block.

    A normal window of widths s_x, s_y over counts of density n has the variance n / (4 pi s_x s_y)
    (its square integrates to that; Silverman, Density Estimation, section 3.3, from memory). Some
    460 windows lie on the map, so the scatter is known to 1/sqrt(2 * 460) = 3 %; the edge, where
    windows are cut, is left out.
    """
    result = results[0]
    from dataclasses import replace

    panel = np.random.default_rng(5).poisson(1.5, result.tallies.panel.shape)
    flat = replace(result, tallies=replace(result.tallies, panel=panel))
    columns = map_blocks(flat, "collected")
    noise = block_noise(flat.panel_counts("collected"), columns)
    values = smooth_map(flat, "collected")[20:-20, 20:-20]
    assert values.std() / noise == pytest.approx(1.0, abs=0.1)
    assert values.mean() == pytest.approx(1.0, abs=0.01)


def test_labels_can_be_switched_off_and_maps_stand_on_axes_of_ones_own(results):
    figure = matplotlib.figure.Figure()
    axes = figure.subplots()
    show_map(axes, results[0], "collected", PRINT._replace(labels=False))
    assert not axes.texts
    show_map(axes, results[0], "collected", PRINT)
    assert len(axes.texts) == 9
    lux = [axes for axes in draw_designs(designs_of(results, 2), WIDE).axes if axes.images]
    assert lux[0].images[0].get_clim() == lux[1].images[0].get_clim()
    words = " ".join(text for text, *_ in words_of(draw_designs(designs_of(results, 2), WIDE)))
    assert "through the stop, lx" in words


def test_a_page_is_160_mm_wide():
    assert PRINT.width_in * 25.4 == pytest.approx(160.0)
