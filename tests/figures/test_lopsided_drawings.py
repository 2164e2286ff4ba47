"""Up, down, left and right of previews, mountings, side views and cutting sheets, read back."""

import math
from itertools import product

import numpy as np
import pytest
from matplotlib.collections import LineCollection
from matplotlib.colors import to_hex
from matplotlib.patches import Circle, FancyArrowPatch, Polygon, Rectangle

from photonsim.engine import sample_paths, trace
from photonsim.figures import draw_orientation, draw_preview, draw_side_view
from photonsim.figures.screen.appearance import seen, to_linear
from photonsim.figures.sheets.cutting_sheet import draw_cutting_sheet, draw_reduced, draw_whole
from photonsim.figures.style import EMITTERS, PANEL, SHEETS
from photonsim.optics.orientation import MOUNTINGS
from photonsim.results import screen_of
from photonsim.workshop.cutting import cutting_plan
from tests.lopsided import FILM_ACROSS_Y, LIGHT, RIDGES_DEG, SHEET_ACROSS_X, F, lopsided
from tests.optics.test_orientation import audience_sees

HALF = (48.0, 27.0)
WHITE = np.ones((108, 192, 3))
WATCHED = [("front", 0), ("front", 1), ("rear", 0), ("rear", 1)]


@pytest.fixture(scope="module")
def result():
    return trace(lopsided(), photons=400_000)


@pytest.fixture(scope="module", params=WATCHED, ids=str)
def watched(request):
    """(result, way), by which `way` takes a place of the panel to where the audience sees it.

    The objective turns the picture by half a turn, a mirror swaps left and right, and who looks at
    the screen from the lamp's side has x on the left: followed by hand in tests/optics.
    """
    side, mirrors = request.param
    result = trace(lopsided(watched_from=side, mirrors=mirrors), photons=400_000)
    return result, lambda x, y: audience_sees((x, y), True, side == "rear", mirrors)


def on_paper(axes):
    """Return the light of the one picture in axes [rows, columns], row 0 uppermost on paper."""
    (image,) = axes.images
    light = np.asarray(to_linear(np.asarray(image.get_array()) / 255.0))[..., 0]
    left, right, bottom, top = image.get_extent()
    corners = axes.transData.transform([(left, bottom), (right, top)])
    rows = light if image.origin == "upper" else light[::-1]
    rows = rows if corners[1, 1] > corners[0, 1] else rows[::-1]
    return rows if corners[1, 0] > corners[0, 0] else rows[:, ::-1]


def places(light):
    """Return (right, up) of the pixels of a picture in mm on the panel's scale."""
    rows, columns = light.shape
    right = ((np.arange(columns) + 0.5) / columns - 0.5) * 2.0 * HALF[0]
    up = (0.5 - (np.arange(rows) + 0.5) / rows) * 2.0 * HALF[1]
    return np.meshgrid(right, up)


def middle_of(light):
    """Return the mean (right, up) of light in mm on the panel's scale."""
    right, up = places(light)
    return np.average(right, weights=light), np.average(up, weights=light)


def test_preview_is_bright_where_the_bar_s_image_lies(watched):
    result, way = watched
    light = on_paper(draw_preview([("lamp", result)], WHITE).axes[0])
    excess = np.maximum(light - 0.6 * light.max(), 0.0)
    assert middle_of(excess) == pytest.approx(way(*LIGHT), abs=4.0)


def test_preview_shows_a_letter_upright(watched):
    result, _ = watched
    letter = np.zeros(WHITE.shape)
    letter[4:104, 66:126] = np.kron(F, np.ones((20, 20)))[..., None]
    black, seen = (
        on_paper(draw_preview([("lamp", result)], picture).axes[0])[4:104, 66:126]
        for picture in (0.5 * WHITE, letter)
    )
    shares = (seen / black).reshape(5, 20, 3, 20).mean(axis=(1, 3))
    assert ((shares > 0.4 * shares.max()) == (F > 0.0)).all()


def test_preview_blurs_towards_where_the_centroid_shifts(watched):
    """A dot is seen where its chief ray lands, distortion included, off by the centroid shift."""
    result, way = watched
    view = screen_of(result)
    i, j = 6, 7  # to the right of the bar: (32, 12) mm
    x, y = 32.0, 12.0
    right, up = way(x, y)
    dot = np.zeros(WHITE.shape)
    row, column = round((27.0 - up) / 0.5 - 0.5), round((right + 48.0) / 0.5 - 0.5)
    dot[row, column] = 1.0
    found = middle_of(seen(result, dot)[..., 0])
    start = (column + 0.5) * 0.5 - 48.0, 27.0 - (row + 0.5) * 0.5
    out = view.distortion(math.hypot(x, y))
    shift = way(*(0.5 * float(part[i, j]) for part in view.centroid_shift_px()))
    wanted = [s * (1.0 + out) + d for s, d in zip(start, shift, strict=True)]
    assert abs(shift[0]) > 0.15
    assert found == pytest.approx(wanted, abs=0.1)


@pytest.mark.parametrize(
    ("lit", "bright"),
    [
        ((slice(None), slice(173, 192)), {"right edge", "upper right corner"}),
        ((slice(0, 11), slice(None)), {"upper right corner"}),
        ((slice(49, 59), slice(91, 101)), {"middle"}),
    ],
)
def test_details_of_the_preview_are_cut_where_they_say(result, lit, bright):
    picture = np.zeros(WHITE.shape)
    picture[lit] = 1.0
    _, *details = draw_preview([("lamp", result)], picture).axes
    light = {axes.get_title(loc="center") or axes.get_title(loc="left"): on_paper(axes).max()
             for axes in details}  # fmt: skip
    least = 0.1 * max(light.values())
    assert {name for name, value in light.items() if value > least} == bright


def turned(letter):
    """Return signs (right, up) by which a drawn F lies: its stem is at the left, its arms above."""
    x, y = letter.get_xy()[:-1].T
    # Of the outline's corners, six lie on the stem and more of them in the upper half.
    return (1 if np.median(x) < 0.5 * (x.min() + x.max()) else -1,
            1 if y.mean() > 0.5 * (y.min() + y.max()) else -1)  # fmt: skip


def test_every_mounting_is_drawn_as_the_rays_go():
    figure = draw_orientation(MOUNTINGS, None)
    for axes, mounting in zip(figure.axes, MOUNTINGS, strict=True):
        letters = [p for p in axes.patches if isinstance(p, Polygon) and len(p.get_xy()) == 11]
        sent, shown, seen = (
            turned(letter) for letter in sorted(letters, key=lambda p: p.get_xy()[:, 0].mean())
        )
        front, rear, mirrors = mounting
        assert seen == (1, 1)
        assert audience_sees(shown, front, rear, mirrors) == (1, 1)
        # Mounted upside down: half a turn lies between what is sent and what the panel shows.
        assert sent == (-shown[0], -shown[1])
        plates = [patch for patch in axes.patches if isinstance(patch, Rectangle)]
        front_side = next(p for p in plates if to_hex(p.get_facecolor()) == PANEL.lower())
        lamp, panel = plates[0], plates[1]
        assert to_hex(lamp.get_facecolor()) == EMITTERS.lower()
        assert (front_side.get_x() > panel.get_x()) == front
        assert lamp.get_x() < panel.get_x()


def test_watchers_sit_and_look_where_the_heading_says():
    """The light goes to the right, or after the mirror up; behind the screen is beyond it."""
    figure = draw_orientation(MOUNTINGS, None)
    for axes, mounting in zip(figure.axes, MOUNTINGS, strict=True):
        along = 1 if mounting.mirrors else 0
        screen = next(line for line in axes.lines if line.get_linewidth() == 2.0
                      and np.ptp(line.get_data()[along]) == 0.0)  # fmt: skip
        head = next(p for p in axes.patches if isinstance(p, Circle))
        nose = next(p for p in axes.patches if isinstance(p, Polygon) and len(p.get_xy()) == 4)
        stands, place = head.center[along], screen.get_data()[along][0]
        assert (stands > place) == mounting.watched_from_rear
        tip = nose.get_xy()[0][along] - stands
        assert tip * (place - stands) > 0.0


@pytest.fixture(scope="module")
def sides():
    """Paths, and the axes of the side view by the coordinate that they draw upwards."""
    scene = lopsided()
    paths = sample_paths(scene, 30)
    figure = draw_side_view(scene, paths)
    return paths, {axes.get_ylabel()[0]: axes for axes in figure.axes[:2]}


def segments(axes, of_emitters):
    """Return the ends [2, (z, side)] of all lines that stand together, emitters' faces or light."""
    return [
        segment
        for lines in axes.collections
        if isinstance(lines, LineCollection)
        and (to_hex(lines.get_color()[0]) == EMITTERS.lower()) == of_emitters
        for segment in lines.get_segments()
    ]


@pytest.mark.parametrize("axis", ["x", "y"])
def test_side_view_has_every_part_on_its_own_side(sides, axis):
    _, planes = sides
    axes, scene = planes[axis], lopsided()
    assert axes.get_ylim()[0] < axes.get_ylim()[1] and axes.get_xlim()[0] < axes.get_xlim()[1]
    bar = scene.emitters["bar"]
    centres = {"x": (15.0, 22.0, 29.0), "y": (7.5, 16.5)}[axis]
    size = {"x": 4.0, "y": 3.0}[axis]
    lit = [tuple(face[:, 1]) for face in segments(axes, True) if face[0, 0] == bar.z_mm]
    assert sorted(lit) == [pytest.approx((c - 0.5 * size, c + 0.5 * size)) for c in centres]
    name, spans = {"x": ("sheet", SHEET_ACROSS_X), "y": ("film", FILM_ACROSS_Y)}[axis]
    z_mm = scene.train[name].z_mm
    lines = [(to_hex(line.get_color()), *line.get_data()) for line in axes.lines]
    drawn = {tuple(np.round(y, 6)) for _, z, y in lines if z[0] == z[-1] == z_mm}
    assert set(spans) <= drawn
    if axis == "y":
        assert any(colour == SHEETS["prism_film"].lower() for colour, z, _ in lines if z[0] == z_mm)


@pytest.mark.parametrize(("axis", "place"), [("x", 0), ("y", 1)])
def test_side_view_draws_each_path_where_it_went(sides, axis, place):
    paths, planes = sides
    drawn = segments(planes[axis], False)
    assert len(drawn) == len(paths)
    wanted = {tuple(path.points[-1, (2, place)]) for path in paths}
    assert {tuple(segment[-1]) for segment in drawn} == wanted


def shapes(axes, gid):
    """Return the corners [n, 2] in mm of every line of a name on a sheet."""
    return [p.get_xy() for p in axes.findobj(Polygon) if p.get_gid() == gid]


def box(points):
    low, high = np.min(points, axis=0), np.max(points, axis=0)
    return 0.5 * (low + high), high - low


def placed(axes, name, gid):
    """Return the middles and sizes of a piece's lines as the piece lies before it is turned.

    A piece may lie on the page as it is or turned by a quarter counter-clockwise, never mirrored:
    which, is told by the longer side.
    """
    (outline,) = shapes(axes, name)
    middle, size = box(outline)
    quarter = size[1] > size[0]
    found = []
    for points in shapes(axes, gid):
        off = points - middle
        off = np.column_stack([off[:, 1], -off[:, 0]]) if quarter else off
        found.append(box(off))
    return found


PLANS = {"pages": None, "whole": draw_whole, "reduced": draw_reduced}


@pytest.fixture(scope="module", params=PLANS)
def sheet(request):
    """All axes on which the pieces of the lamp are drawn, one way or the other."""
    plan = cutting_plan(lopsided())
    if request.param == "pages":
        figures = draw_cutting_sheet(plan, [], plan.remarks)
        return [figure.axes[0] for figure in figures]
    return [PLANS[request.param](plan).axes[0]]


def holding(sheet, name):
    return next(axes for axes in sheet if shapes(axes, name))


def test_emitters_are_marked_at_the_upper_right_of_the_base(sheet):
    found = placed(holding(sheet, "base"), "base", "base mark")
    marks = [tuple(np.round(middle, 6)) for middle, size in found if np.allclose(size, (4.0, 3.0))]
    assert sorted(marks) == sorted(product((15.0, 22.0, 29.0), (7.5, 16.5)))


def test_guides_have_the_strips_where_they_lie(sheet):
    for name, axis, spans in (("film", 1, FILM_ACROSS_Y), ("sheet", 0, SHEET_ACROSS_X)):
        piece = f"{name} placing guide"
        found = placed(holding(sheet, piece), piece, f"{piece} mark")
        strips = [(m[axis] - 0.5 * s[axis], m[axis] + 0.5 * s[axis]) for m, s in found if s.min()]
        assert sorted(strips) == [pytest.approx(span, abs=1e-6) for span in spans]


def test_ridges_run_as_they_must_on_every_strip():
    axes = draw_whole(cutting_plan(lopsided())).axes[0]
    arrows = [patch for patch in axes.patches if isinstance(patch, FancyArrowPatch)]
    assert len(arrows) == len(FILM_ACROSS_Y)
    wide = [np.diff(box(s)[1])[0] < 0 for k in (1, 2) for s in shapes(axes, f"film strip {k}")]
    for arrow in arrows:
        (x0, y0), (x1, y1) = arrow._posA_posB
        turn = math.degrees(math.atan2(y1 - y0, x1 - x0)) % 180.0
        assert turn == pytest.approx(RIDGES_DEG if all(wide) else RIDGES_DEG + 90.0, abs=1e-6)


def test_walls_follow_one_another_as_seen_from_outside():
    """Going right around a box seen from outside: low y, high x, high y, low x (x right, y up)."""
    axes = draw_whole(cutting_plan(lopsided())).axes[0]
    names = {t.get_text().split("\n")[0]: t.get_position() for t in axes.texts
             if t.get_text().startswith("wall at")}  # fmt: skip
    way = np.diff([names[f"wall at {side}"] for side in ("low y", "high x", "high y", "low x")],
                  axis=0)  # fmt: skip
    (outline,) = shapes(axes, "walls")
    _, size = box(outline)
    right = (1.0, 0.0) if size[0] > size[1] else (0.0, 1.0)
    assert (way @ right > 0.0).all()
