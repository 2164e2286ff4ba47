"""Scales, units and lengths as drawn: what is compared shares a scale, per cent are per cent."""

import numpy as np
import pytest
from matplotlib.collections import QuadMesh

from photonsim.engine import trace
from photonsim.figures import draw_blur, draw_designs, draw_ledger, draw_maps, draw_preview
from photonsim.figures.panel.counting import counts_with_errors
from photonsim.figures.panel.spread import grain
from photonsim.figures.screen.appearance import to_linear
from photonsim.figures.sheets.page_layout import FOOTER_MM, MARGIN_MM, PAPERS, lay_out
from photonsim.figures.study.many import draw_parallel
from photonsim.figures.study.tolerance import draw_shares
from photonsim.results.files.study_table import Column, StudyTable
from photonsim.results.panel import weights
from photonsim.scene import parse_scene
from photonsim.workshop.pieces import Piece, signed_area
from tests.lopsided import lopsided
from tests.shipped import scene


@pytest.fixture(scope="module")
def uneven():
    return trace(lopsided(), photons=300_000)


@pytest.fixture(scope="module")
def even():
    return trace(scene("b"), photons=300_000)


def maps_of(figure):
    return [image for axes in figure.axes for image in axes.images]


def test_both_maps_stand_on_one_scale(uneven):
    """From nothing to the same top, with the values of each over its own mean."""
    arriving, collected = maps_of(draw_maps(uneven))
    assert arriving.get_clim() == collected.get_clim()
    assert arriving.get_clim()[0] == 0.0
    for mesh, kind in ((arriving, "incident"), (collected, "collected")):
        # What a window at the edge weighs more, one further in weighs less.
        assert mesh.get_array().mean() == pytest.approx(1.0, rel=0.01), kind


def test_maps_of_all_designs_stand_on_one_scale(uneven, even):
    figure = draw_designs([("uneven", uneven), ("even", even)])
    one, other = maps_of(figure)[:2]
    assert one.get_clim() == other.get_clim()
    assert one.get_array().max() > 1.5 * other.get_array().max()


def test_a_lamp_of_half_the_light_looks_half_as_bright(uneven):
    """One exposure for both, and light turned into sRGB by its law (IEC 61966-2-1)."""
    text = lopsided().text
    for flux in (50.0, 200.0):
        text = text.replace(f"flux_lm = {flux}", f"flux_lm = {0.5 * flux}")
    dimmer = trace(parse_scene(text), photons=300_000)
    assert dimmer.scene.flux_lm == 0.5 * uneven.scene.flux_lm
    figure = draw_preview([("full", uneven), ("half", dimmer)], np.ones((108, 192, 3)))
    full, half = (np.asarray(figure.axes[k].images[0].get_array()) / 255.0 for k in (0, 4))
    assert full.max() > 0.99
    unclipped = full < 0.95
    light = [to_linear(picture[unclipped]).mean() for picture in (full, half)]
    assert light[1] / light[0] == pytest.approx(0.5, rel=0.02)


def test_bars_of_the_ledger_are_as_long_as_their_share(uneven):
    figure = draw_ledger(uneven)
    axes = figure.axes[0]
    shares = sorted((f.photons for f in uneven.fates if f.photons), reverse=True)
    lengths = [bar.get_width() for bar in axes.patches]
    assert lengths[: len(shares)] == pytest.approx(
        [100.0 * count / uneven.photons for count in shares]
    )
    assert "%" in axes.get_xlabel()
    tops = [bar.get_y() for bar in axes.patches]
    assert tops == sorted(tops) and axes.get_ylim()[0] > axes.get_ylim()[1], "the largest on top"


def test_words_on_a_blur_map_are_those_of_their_place(uneven):
    axes = next(a for a in draw_blur(uneven).axes if "Light on" in a.get_title(loc="left"))
    (mesh,) = (a for a in axes.get_children() if isinstance(a, QuadMesh))
    edges, values = mesh.get_coordinates(), np.ma.filled(mesh.get_array(), np.nan)
    x, y = 0.5 * (edges[0, 1:, 0] + edges[0, :-1, 0]), 0.5 * (edges[1:, 0, 1] + edges[:-1, 0, 1])
    assert len(axes.texts) == 25
    for text in axes.texts:
        right, up = text.get_position()
        value = values[np.abs(y - up).argmin(), np.abs(x - right).argmin()]
        assert float(text.get_text()) == pytest.approx(value, abs=0.06)


def test_error_of_a_count_is_that_of_the_whole_run(uneven):
    """Poisson: light n of a mean weight w has the error sqrt(w n); less, spread evenly."""
    counts, errors = counts_with_errors(uneven, "profile_x", 0)
    light = weights.of_all(uneven.tallies, 0) * counts[counts > 0]
    ratio = errors[counts > 0].mean() / np.sqrt(light).mean()
    assert 0.6 < ratio < 1.1
    joined, wider = counts_with_errors(uneven, "profile_x", 0, 4)
    assert joined.sum() == counts.sum() and len(joined) == len(counts) // 4
    assert wider.mean() / errors.mean() == pytest.approx(2.0, rel=0.25)


def test_shares_of_the_variance_are_drawn_in_per_cent():
    table = StudyTable("tolerance", "t", "", (
        Column("a", "a", "mm", "parameter", np.arange(3.0)),
        Column("b", "b", "mm", "parameter", np.arange(3.0)),
        Column("m", "m", "lm", "figure", np.arange(3.0)),
    ), {"share m a": 0.7, "share error m a": 0.05,
        "share m b": 0.2, "share error m b": 0.1})  # fmt: skip
    axes = draw_shares(table).axes[0]
    assert [bar.get_width() for bar in axes.patches] == pytest.approx([70.0, 20.0])
    lines = axes.collections[0].get_segments()
    assert [tuple(line[:, 0]) for line in lines] == [
        pytest.approx((65.0, 75.0)),
        pytest.approx((10.0, 30.0)),
    ]
    assert "%" in axes.get_xlabel()


def test_grain_is_the_luck_of_a_map_and_not_its_slope():
    """Normal luck of 0.3 on a slope: 30 000 second differences tell it to some 1 %."""
    slope = np.linspace(3.0, 9.0, 180) + np.linspace(0.0, 2.0, 170)[:, None]
    luck = np.random.default_rng(4).normal(0.0, 0.3, slope.shape)
    assert grain(slope + luck) == pytest.approx(0.3, rel=0.05)
    assert grain(slope) < 1e-9
    assert np.isnan(grain(np.full((4, 4), np.nan)))


def test_a_design_whose_figure_is_not_known_is_not_drawn_as_the_least():
    table = StudyTable("tune", "t", "", (
        Column("a", "a", "mm", "parameter", np.arange(3.0)),
        Column("m", "m", "lm", "figure", np.arange(3.0)),
        Column("n", "n", "", "figure", np.array([1.0, np.nan, 2.0])),
    ))  # fmt: skip
    (lines,) = draw_parallel(table).axes[0].collections
    heights = sorted(path.vertices[:, 1].tolist() for path in lines.get_paths())
    assert heights[1][:2] == [0.5, 0.5] and np.isnan(heights[1][2])
    assert [heights[0][2], heights[2][2]] == [0.0, 1.0]


# A piece without symmetry, counter-clockwise: mirrored, its area would be negative.
CORNER = ((0.0, 0.0), (1.0, 0.0), (1.0, 0.2), (0.3, 0.2), (0.3, 1.0), (0.0, 1.0))


def scaled(width, height):
    return Piece("corner", "card", tuple((x * width, y * height) for x, y in CORNER))


@pytest.mark.parametrize("size", [(60.0, 100.0), (100.0, 60.0), (500.0, 300.0), (250.0, 700.0)])
@pytest.mark.parametrize("paper", PAPERS)
def test_a_piece_is_never_mirrored_and_always_printed_in_whole(size, paper):
    """Every point of the piece lies on the usable part of some page; the area keeps its sign."""
    piece, sheet = scaled(*size), PAPERS[paper]
    pages = lay_out([(1, piece)], sheet)
    left, low = MARGIN_MM, MARGIN_MM + FOOTER_MM
    right, high = left + sheet.usable[0], low + sheet.usable[1]
    steps = np.linspace(0.0, 1.0, 21)
    spots = [(x * size[0], y * size[1]) for x in steps for y in steps]
    shown = set()
    for page in pages:
        (placed,) = page.placed
        outline = [placed.place(point) for point in piece.outline]
        assert signed_area(outline) == pytest.approx(signed_area(piece.outline))
        for spot in spots:
            x, y = placed.place(spot)
            if left <= x <= right and low <= y <= high:
                shown.add(spot)
    assert len(shown) == len(spots)
