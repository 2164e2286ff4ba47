"""The screen's figure and the preview: drawn without warnings, light kept, sRGB as the standard."""

import warnings

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.figures import draw_preview, draw_screen
from photonsim.figures.appearance import seen, to_linear, to_srgb
from photonsim.figures.chart import chart_picture
from photonsim.figures.preview import read_picture
from photonsim.results import ResultError
from tests.shipped import scene


@pytest.fixture(scope="module")
def result():
    return trace(scene("f"), photons=200_000)


def test_srgb_values():
    """IEC 61966-2-1: the middle grey 0.5 is light 0.21404; the two branches meet at 0.04045."""
    assert to_linear(np.array(0.5)) == pytest.approx(0.214041, abs=1e-6)
    assert to_srgb(np.array(0.214041)) == pytest.approx(0.5, abs=1e-5)
    grid = np.linspace(0.0, 1.0, 101)
    np.testing.assert_allclose(to_srgb(to_linear(grid)), grid, atol=1e-6)


def test_white_picture_has_the_luminance_of_the_lumens(result):
    white = seen(result, np.ones((272, 480, 3)))
    from photonsim.bench import brightness_of

    found = brightness_of(result)
    room = result.scene.screen.room_lux / np.pi
    # What blur carries over the picture's edge is missing, less than a per cent.
    assert white.mean() - room == pytest.approx(found.luminance_cd_m2.value, rel=0.02)


def test_black_picture_has_what_panel_and_room_leave(result):
    black = seen(result, np.zeros((272, 480, 3))).mean()
    white = seen(result, np.ones((272, 480, 3))).mean()
    from photonsim.bench import brightness_of

    assert white / black == pytest.approx(brightness_of(result).room_contrast, rel=0.03)


def test_blur_of_the_preview_is_that_of_the_photons(result):
    from photonsim.results import screen_of

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


def test_figures_are_drawn_without_warnings(result):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert draw_screen(result).axes
        assert len(draw_preview([("one", result), ("two", result)]).axes) == 8


def test_run_without_light_is_drawn_too():
    dark = trace(scene("d"), photons=300)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        draw_screen(dark)
        draw_preview([("dark", dark)])


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
