"""Every figure, of every sort of result: drawn without a warning, and all its words readable."""

import itertools

import pytest

from photonsim.figures import (
    SLIDES,
    draw_angular_spread,
    draw_designs,
    draw_intensity,
    draw_ledger,
    draw_maps,
    draw_profile,
    draw_side_view,
)
from photonsim.results import ResultError
from tests.figures.layout import assert_readable, words_of

pytestmark = pytest.mark.filterwarnings("error")

DRAWN = [draw_maps, draw_angular_spread, draw_intensity, draw_ledger, draw_profile]
# Many kinds of parts make more words in the latter only; three photons make fewer in the former.
CASES = [
    *itertools.product(DRAWN, ["lonely"]),
    *itertools.product([draw_maps, draw_angular_spread, draw_intensity], ["unlit"]),
    *itertools.product([draw_ledger, draw_profile], ["all_kinds"]),
]


@pytest.fixture(scope="module")
def of_usual(usual):
    """The figures of the usual lamp by the function that drew them."""
    return {draw: draw(usual[0]) for draw in DRAWN}


@pytest.mark.parametrize("draw", DRAWN)
def test_words_of_every_usual_figure_can_be_read(draw, of_usual):
    assert_readable(of_usual[draw])


@pytest.mark.parametrize(("draw", "name"), CASES)
def test_words_of_every_extreme_figure_can_be_read(draw, name, request):
    result, _ = request.getfixturevalue(name)
    assert_readable(draw(result))


@pytest.mark.parametrize("name", ["usual", "all_kinds", "lonely"])
def test_words_of_the_side_view_can_be_read(name, request):
    result, paths = request.getfixturevalue(name)
    assert_readable(draw_side_view(result.scene, paths))
    assert_readable(draw_side_view(result.scene))


@pytest.mark.parametrize("count", [1, 4])
def test_words_of_a_comparison_can_be_read(count, usual, lonely, unlit):
    long = "two crossed films from the broken screen, walls of mirror card, number"
    designs = [
        (f"{long} {k}" if k % 2 else f"whole {k}", (usual, lonely, unlit)[k % 3][0])
        for k in range(count)
    ]
    assert_readable(draw_designs(designs))


def test_comparison_of_nothing_is_refused():
    with pytest.raises(ResultError, match="nothing to compare"):
        draw_designs([])


def test_values_in_the_figures_are_those_of_the_result(usual, of_usual):
    result, _ = usual
    maps = " ".join(text for text, *_ in words_of(of_usual[draw_maps]))
    assert result.estimate("uniformity").text() in maps
    assert result.estimate("incident_uniformity").text() in maps
    profile = " ".join(text for text, *_ in words_of(of_usual[draw_profile]))
    # The figure of merit is the larger of both axes, which are printed side by side, each with its
    # own error.
    assert f"{100.0 * result.estimate('structure').value:.1f} ±" in profile
    ledger = " ".join(text for text, *_ in words_of(of_usual[draw_ledger]))
    for fate in result.fates:
        assert (fate.name in ledger.replace("\n", " ")) == (fate.photons > 0)


@pytest.mark.parametrize("name", ["usual", "lonely"])
def test_the_axis_of_the_ledger_ends_at_all_of_the_light(name, request):
    """Whatever room the words at the ends of the bars take."""
    figure = draw_ledger(request.getfixturevalue(name)[0], SLIDES)
    (axes,) = figure.axes
    assert axes.get_xlim()[1] > 100.0
    assert max(axes.get_xticks()) <= 100.0
    _, end = axes.spines["bottom"].get_bounds()
    assert end == 100.0
