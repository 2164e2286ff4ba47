"""Which way up and which way round every map and curve is drawn, read back from the drawing.

The lamp (tests/lopsided.py) has its light at the upper right, seen from the screen: x to the right,
y up. What is expected follows from where its parts stand, by plain geometry.
"""

from dataclasses import replace

import numpy as np
import pytest
from matplotlib.collections import PolyCollection, QuadMesh
from matplotlib.image import AxesImage
from matplotlib.quiver import Quiver

from photonsim.engine import trace
from photonsim.figures import (
    draw_angular_spread,
    draw_blur,
    draw_designs,
    draw_intensity,
    draw_line_contrast,
    draw_maps,
    draw_profile,
    draw_stop,
)
from photonsim.figures.study.curves import draw_curves
from photonsim.figures.study.curves import draw_map as draw_study_map
from photonsim.figures.study.residuals import draw_residuals
from photonsim.results.files.study_table import Column, StudyTable
from photonsim.workshop.readings import Reading
from tests.lopsided import FILM_ACROSS_Y, LIGHT, SHEET_ACROSS_X, lopsided


@pytest.fixture(scope="module")
def result():
    return trace(lopsided(), photons=1_000_000)


def title_of(axes):
    return axes.get_title(loc="left")


def drawn(axes, kind):
    """Return the artists of a kind in axes, which must count to the right and upwards."""
    assert axes.get_xlim()[0] < axes.get_xlim()[1] and axes.get_ylim()[0] < axes.get_ylim()[1]
    return [artist for artist in axes.get_children() if isinstance(artist, kind)]


def tiles_of(axes):
    """Return (x, y, values) of the middles of a drawn map's tiles, flat."""
    if axes.images:
        (image,) = axes.images
        left, right, low, high = image.get_extent()
        values = np.asarray(image.get_array())
        assert image.origin == "lower"
        rows, columns = values.shape
        across = left + (np.arange(columns) + 0.5) / columns * (right - left)
        up = low + (np.arange(rows) + 0.5) / rows * (high - low)
        x, y = np.meshgrid(across, up)
        return x.ravel(), y.ravel(), values.ravel()
    (mesh,) = drawn(axes, QuadMesh)
    edges = mesh.get_coordinates()
    middles = 0.25 * (edges[1:, 1:] + edges[1:, :-1] + edges[:-1, 1:] + edges[:-1, :-1])
    values = np.ma.filled(mesh.get_array(), 0.0).ravel()
    return middles[..., 0].ravel(), middles[..., 1].ravel(), values


def brightest(axes):
    """Return the middle (x, y) of the brighter half of what a map rises above its mean."""
    x, y, values = tiles_of(axes)
    weight = np.maximum(values - 0.5 * (values.mean() + values.max()), 0.0)
    return np.average(x, weights=weight), np.average(y, weights=weight)


def curve_of(axes, label):
    return next(line for line in axes.lines if line.get_label().startswith(label))


def has_map(axes):
    return any(isinstance(artist, QuadMesh | AxesImage) for artist in axes.get_children())


def test_maps_are_bright_where_the_bar_stands(result):
    """Light that goes on through field lens and stop left its emitter along the axis."""
    figure = draw_maps(result)
    arriving, collected = (axes for axes in figure.axes if title_of(axes))
    assert brightest(collected) == pytest.approx(LIGHT, abs=2.0)
    # At the panel the bar's light has spread over 39 mm, and walls cut it at the right.
    x, y = brightest(arriving)
    assert 10.0 < x < 26.0 and 4.0 < y < 16.0


@pytest.mark.parametrize("pane", [0, 1])
def test_the_greatest_of_the_nine_values_stands_at_the_upper_right(result, pane):
    axes = [axes for axes in draw_maps(result).axes if title_of(axes)][pane]
    values = {text.xy: float(text.get_text().split(" ±")[0]) for text in axes.texts}
    assert len(values) == 9
    assert max(values, key=values.__getitem__) == pytest.approx((32.0, 18.0))


def test_maps_of_designs_are_bright_where_the_bar_stands(result):
    figure = draw_designs([("one", result), ("other", result)])
    maps = [axes for axes in figure.axes if has_map(axes) and title_of(axes)]
    assert len(maps) == 2
    for axes in maps:
        assert brightest(axes) == pytest.approx(LIGHT, abs=2.5)


def test_arrows_lead_away_from_the_bar(result):
    figure = draw_angular_spread(result)
    (arrows,) = (a for axes in figure.axes for a in axes.get_children() if isinstance(a, Quiver))
    x, y = arrows.get_offsets().T
    u, v = (np.ma.filled(part, 0.0) for part in (arrows.U, arrows.V))
    assert u[x < -10.0].max() < 0.0 and v[y < -10.0].max() < 0.0
    assert u[(x > 40.0) & (y > 0.0)].min() > 0.0
    assert v[(y > 22.0) & (x > 10.0)].min() > 0.0
    # Light is narrowest over the bar, where most of it comes from straight below.
    rms = next(axes for axes in figure.axes if has_map(axes))
    across, up, values = tiles_of(rms)
    far, near = (across < -30) & (up < -12), (abs(across - 22) < 8) & (abs(up - 12) < 8)
    assert values[near].mean() < values[far].mean()


def test_light_heads_to_the_left_and_down_on_the_whole(result):
    """The panel's middle lies at the lower left of the bar."""
    for axes in draw_intensity(result).axes:
        angles, candela = curve_of(axes, "arriving").get_data()
        assert np.average(angles, weights=candela) < -1.0


def test_each_plane_has_its_own_angles_and_their_signs(result):
    batches = {name: array.copy() for name, array in result.tallies.batches.items()}
    # Bins of 2 degrees from -90: 60 is the one about +31 degrees, 19 that about -51.
    for name, place in (("plane_x", 60), ("plane_y", 19)):
        batches[name][:] = 0
        batches[name][:, :, place] = 100
    figure = draw_intensity(replace(result, tallies=replace(result.tallies, batches=batches)))
    peaks = {}
    for axes in figure.axes:
        angles, candela = curve_of(axes, "collected").get_data()
        peaks[title_of(axes).split()[0], axes.get_xlabel().split("+")[1]] = angles[candela.argmax()]
    assert peaks == {("Horizontal", "x (°)"): 31.0, ("Vertical", "y (°)"): -51.0}


def test_profile_has_its_peak_over_the_bar_and_the_strips_where_they_lie(result):
    figure = draw_profile(result)
    profiles, plans = figure.axes[:2], figure.axes[2:]
    strips = {"x": ("sheet", SHEET_ACROSS_X), "y": ("film", FILM_ACROSS_Y)}
    for axes, plan in zip(profiles, plans, strict=True):
        axis = plan.get_xlabel()[0]
        place, half = (LIGHT[0], 48.0) if axis == "x" else (LIGHT[1], 27.0)
        assert plan.get_xlim() == pytest.approx((-half, half))
        assert axes.get_xlim() == pytest.approx((-half, half))
        x, light = curve_of(axes, "collected").get_data()
        excess = np.maximum(light - 0.5 * (light.mean() + light.max()), 0.0)
        assert np.average(x, weights=excess) == pytest.approx(place, abs=2.0)
        name, spans = strips[axis]
        row = [label.get_text() for label in plan.get_yticklabels()].index(name)
        bars = plan.collections[row]
        found = sorted(path.get_extents().intervalx.tolist() for path in bars.get_paths())
        assert found == [pytest.approx(span) for span in spans]
        assert isinstance(bars, PolyCollection)


def test_blur_maps_have_the_lamp_s_light_at_the_upper_right(result):
    axes = next(axes for axes in draw_blur(result).axes if "Light on the screen" in title_of(axes))
    assert brightest(axes) == pytest.approx(LIGHT, abs=4.0)
    words = {text.get_position(): float(text.get_text()) for text in axes.texts}
    x, y = max(words, key=words.__getitem__)
    assert x > 10.0 and y > 5.0


def test_centroid_shift_points_away_from_the_bar_where_the_screen_stands_too_far(result):
    """Light of a panel point beside the bar crosses the stop off its middle, away from the bar.

    The picture is sharp 829 mm behind the stop and the screen stands at 1000 mm: what crosses the
    stop at s lands at s (1 - 1000/829) from the chief ray (similar triangles), on the panel's scale
    divided by a magnification below 0: on the side of s.
    """
    axes = next(axes for axes in draw_blur(result).axes if "Centroid shift" in title_of(axes))
    (arrows,) = drawn(axes, Quiver)
    x, y = arrows.get_offsets().T
    u, v = (np.ma.filled(part, 0.0).ravel() for part in (arrows.U, arrows.V))
    beside = abs(y - LIGHT[1]) < 5.0
    assert u[beside & (abs(x - 32.0) < 4.0)].min() > 0.1
    assert u[beside & (abs(x - 10.7) < 4.0)].max() < -0.1
    over = abs(x - LIGHT[0]) < 6.0
    assert v[over & (abs(y - 18.0) < 2.0)].min() > 0.1
    assert v[over & (abs(y - 6.0) < 2.0)].max() < -0.1


def test_stop_is_filled_on_the_side_away_from_the_bar(result):
    """Through the field lens, whose focus the stop is, light crosses it where it headed."""
    middles, places = {}, {}
    for axes in draw_stop(result).axes:
        if has_map(axes):
            x, y, light = tiles_of(axes)
            name = title_of(axes).split("\n")[0]
            middles[name] = np.average(x, weights=light), np.average(y, weights=light)
            places[name] = axes.get_position().x0, -axes.get_position().y0
    columns, rows = (sorted({round(place[k], 6) for place in places.values()}) for k in (0, 1))
    assert len(columns) == len(rows) == 3
    words = {0: {"top", "left"}, 1: set(), 2: {"bottom", "right"}}
    for name, (x, y) in places.items():
        row, column = rows.index(round(y, 6)), columns.index(round(x, 6))
        assert set(name.split()) - {"middle"} == (words[row] & {"top", "bottom"}) | (
            words[column] & {"left", "right"}
        )
    # The upper right ninth holds the upper right of the bar and what lies beyond it.
    assert min(middles["top right"]) > 0.5
    assert middles["top"][0] < -0.3  # to the left of the bar
    assert middles["right"][1] < -0.3  # below it


def test_lines_blur_across_the_way_that_the_light_is_spread(result):
    """A spot that is a level line washes out upright lines and leaves level ones."""
    spots = np.zeros_like(result.tallies.spots)
    spots[:, :, 0, spots.shape[3] // 2, :] = 50
    smeared = replace(result, tallies=replace(result.tallies, spots=spots))
    for axes in draw_line_contrast(smeared).axes:
        fine = np.nanmean(curve_of(axes, "middle").get_ydata()[:10])
        assert fine < 0.4 if title_of(axes) == "Upright lines" else fine > 0.99


def test_readings_stand_where_they_were_taken():
    places = [(30.0, 9.0), (-5.0, -20.0)]
    readings = [Reading("panel", 100.0, 1.0, x, y) for x, y in places]
    left, predictions = np.array([2.5, -1.5]), np.array([97.5, 101.5])
    axes = draw_residuals(readings, left, predictions, lopsided().panel).axes[0]
    # The brighter ones, then the darker, each with a mark of its own: in grey the sign shows too.
    for marks, place, value, words in zip(
        axes.collections, places, (2.5, -1.5), ("brighter than fitted", "darker"), strict=True
    ):
        assert [tuple(one) for one in marks.get_offsets()] == [place]
        assert marks.get_array().tolist() == [value]
        assert marks.get_label() == words
    assert [text.xy for text in axes.texts] == places
    assert [text.get_text() for text in axes.texts] == ["+2.5", "-1.5"]


def column(name, role, values, errors=None):
    return Column(name, name, "mm", role, np.array(values, dtype=float), errors)


def test_map_of_a_study_has_each_value_at_its_parameters():
    x, y = (part.ravel() for part in np.meshgrid([1.0, 2.0, 3.0, 4.0], [10.0, 20.0, 30.0]))
    values = 2.0 * x - 0.3 * y
    table = StudyTable("sweep", "t", "", (column("a", "parameter", x), column("b", "parameter", y),
                       column("m", "figure", values, np.full(12, 0.01))))  # fmt: skip
    axes = next(axes for axes in draw_study_map(table).axes if title_of(axes) == "m, mm")
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("a, mm", "b, mm")
    across, up, shown = tiles_of(axes)
    assert shown == pytest.approx(2.0 * across - 0.3 * up)
    assert sorted(set(across)) == pytest.approx([1.0, 2.0, 3.0, 4.0])


def test_curve_of_a_study_has_a_band_of_two_errors_in_the_order_of_its_parameter():
    table = StudyTable("sweep", "t", "", (
        column("a", "parameter", [3.0, 1.0, 2.0]),
        column("m", "figure", [9.0, 1.0, 4.0], np.array([0.3, 0.1, 0.2])),
    ))  # fmt: skip
    axes = draw_curves(table).axes[0]
    assert np.array(axes.lines[0].get_data()).T.tolist() == [[1.0, 1.0], [2.0, 4.0], [3.0, 9.0]]
    outline = axes.collections[0].get_paths()[0].vertices
    reach = {x: np.ptp(outline[np.isclose(outline[:, 0], x), 1]) for x in (1.0, 2.0, 3.0)}
    assert reach == pytest.approx({1.0: 0.4, 2.0: 0.8, 3.0: 1.2})


def test_a_curve_without_a_value_says_so_and_has_no_heights():
    table = StudyTable("sweep", "t", "", (
        column("a", "parameter", [1.0, 2.0]), column("m", "figure", [np.nan, np.nan]),
    ))  # fmt: skip
    axes = draw_curves(table).axes[0]
    assert [text.get_text() for text in axes.texts] == ["no value"]
    assert not axes.get_yticks().size
    low, high = axes.get_xlim()
    assert 0.5 < low <= 1.0 and 2.0 <= high < 2.5


def test_a_map_without_a_value_says_so_and_has_no_scale():
    table = StudyTable("sweep", "t", "", (
        column("a", "parameter", [1.0, 2.0, 1.0, 2.0]),
        column("b", "parameter", [5.0, 5.0, 7.0, 7.0]),
        column("m", "figure", np.full(4, np.nan)),
    ))  # fmt: skip
    axes = draw_study_map(table).axes[0]
    assert [text.get_text() for text in axes.texts] == ["no value"]
    assert not axes.get_xticks().size and not axes.get_yticks().size
