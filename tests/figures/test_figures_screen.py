"""The screen's figure and the preview: drawn without warnings, light kept, sRGB as the standard."""

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.figures import (
    draw_blur,
    draw_line_contrast,
    draw_orientation,
    draw_preview,
    draw_stop,
)
from photonsim.figures.screen.appearance import seen, to_linear, to_srgb
from photonsim.figures.screen.chart import chart_picture
from photonsim.figures.screen.preview import read_picture
from photonsim.optics.orientation import MOUNTINGS, Mounting
from photonsim.results import ResultError, screen_of
from tests.figures.layout import assert_readable, words_of
from tests.shipped import scene


@pytest.fixture(scope="module")
def result():
    return trace(scene("f"), photons=200_000)


@pytest.fixture(scope="module")
def dark():
    return trace(scene("d"), photons=300)


def test_srgb_values():
    """IEC 61966-2-1: the middle grey 0.5 is light 0.21404; the two branches meet at 0.04045."""
    assert to_linear(np.array(0.5)) == pytest.approx(0.214041, abs=1e-6)
    assert to_srgb(np.array(0.214041)) == pytest.approx(0.5, abs=1e-5)
    grid = np.linspace(0.0, 1.0, 101)
    np.testing.assert_allclose(to_srgb(to_linear(grid)), grid, atol=1e-6)


def test_white_picture_has_the_luminance_of_the_lumens(result):
    white = seen(result, np.ones((272, 480, 3)))
    from photonsim.summary.brightness import brightness_of

    found = brightness_of(result)
    room = result.scene.screen.room_lux / np.pi
    # What blur carries over the picture's edge is missing, less than a per cent.
    assert white.mean() - room == pytest.approx(found.luminance_cd_m2.value, rel=0.02)


def test_distortion_moves_light_and_loses_none():
    """The anastigmat draws its corners in by 1.3 %: brighter there, by the area, light kept."""
    drawn_in = trace(scene("h"), photons=100_000)
    white = seen(drawn_in, np.ones((272, 480, 3))) - drawn_in.scene.screen.room_lux / np.pi
    assert white.mean() == pytest.approx(screen_of(drawn_in).mean_lux.value / np.pi, rel=0.005)


def test_black_picture_has_what_panel_and_room_leave(result):
    black = seen(result, np.zeros((272, 480, 3))).mean()
    white = seen(result, np.ones((272, 480, 3))).mean()
    from photonsim.summary.brightness import brightness_of

    assert white / black == pytest.approx(brightness_of(result).room_contrast.value, rel=0.03)


def test_blur_of_the_preview_is_that_of_the_photons(result):
    picture = np.zeros((272, 480, 3))
    picture[136, 240] = 1.0
    dark = seen(result, np.zeros_like(picture))
    spot = (seen(result, picture) - dark)[116:157, 220:261, 0]
    y, x = np.mgrid[: spot.shape[0], : spot.shape[1]]
    x, y = (a - (spot * a).sum() / spot.sum() for a in (x, y))
    rms = np.sqrt((spot * (x * x + y * y)).sum() / spot.sum())
    expected = screen_of(result).blur_px()[0][4, 4]
    # Bilinear shares of a pixel add up to a sixth of a pixel squared along each axis.
    assert rms == pytest.approx(np.sqrt(expected**2 + 2.0 / 6.0), rel=0.15)


OF_SCREEN = [draw_blur, draw_line_contrast, draw_stop]


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("draw", OF_SCREEN)
def test_run_without_light_is_drawn_too(draw, dark):
    assert_readable(draw(dark))


@pytest.mark.filterwarnings("error")
def test_previews_stand_side_by_side(result, dark):
    assert_readable(draw_preview([("one", result)]))
    assert len(draw_preview([("one", result), ("two", dark)]).axes) == 8


@pytest.mark.filterwarnings("error")
def test_lateral_colour_is_drawn_where_the_light_has_colours():
    colours = trace(scene("h"), photons=100_000)
    words = " ".join(text for text, *_ in words_of(draw_blur(colours)))
    assert "red outside blue" in words


@pytest.mark.filterwarnings("error")
def test_all_mountings_are_drawn_and_the_scene_s_own_is_framed():
    figure = draw_orientation(MOUNTINGS, Mounting(False, True, 3), "the hall")
    assert_readable(figure)
    framed = [axes for axes in figure.axes if axes.spines["left"].get_linewidth() > 1.0]
    assert len(framed) == 1
    words = " ".join(text.get_text() for text in framed[0].texts)
    assert "Front to the lamp; one mirror, or three" in words
    assert "Audience behind the screen" in words
    assert "as it is" in words


def test_bars_that_show_on_the_panel_show_in_the_preview():
    """The smoothing of few photons must not hide what the lamp does: here from bright to dark."""
    bars = trace(scene("a"), photons=500_000)
    white = seen(bars, np.ones((272, 480, 3)))[:, 200:280, 0].mean(axis=1)
    white -= bars.scene.screen.room_lux / np.pi
    counts = bars.panel_counts("collected")[::-1].sum(axis=1).reshape(34, 8).sum(axis=1)
    found = white.reshape(34, 8).mean(axis=1)
    inner = slice(2, -2)
    spread = [np.ptp(values[inner]) / values[inner].mean() for values in (found, counts)]
    assert spread[0] > 0.75 * spread[1]


def test_chart_is_as_large_as_the_panel_and_has_black_and_white():
    chart = chart_picture(272, 480)
    assert chart.shape == (272, 480, 3)
    assert (chart.min(), chart.max()) == (0.0, 1.0)


def test_odd_pictures_are_told(tmp_path):
    (tmp_path / "no.png").write_text("nothing")
    with pytest.raises(ResultError, match="not a picture"):
        read_picture(tmp_path / "no.png")
    with pytest.raises(ResultError, match="no such file"):
        read_picture(tmp_path / "none.png")
