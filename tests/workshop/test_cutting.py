"""Pieces against lengths measured in space, and areas against plain geometry."""

import math
from pathlib import Path

import pytest
from numpy.testing import assert_allclose

from photonsim.results import ResultError
from photonsim.scene import load_scene, parse_scene
from photonsim.workshop.cutting import cutting_plan
from photonsim.workshop.parts_list import parts_csv, parts_list, parts_text
from photonsim.workshop.pieces import moved_outward, rectangle, signed_area
from photonsim.workshop.wall_net import wall_net
from tests.lopsided import FILM_ACROSS_Y, RIDGES_DEG, SHEET_ACROSS_X, lopsided
from tests.shipped import SCENES

SPLIT_FILM = Path(__file__).parents[1] / "small_lamps" / "split_film.toml"

TAPERED = """
[housing]
width_mm = 80.0
height_mm = 50.0
depth_mm = 60.0
[housing.walls]
reflectance = 0.9
taper_deg = {taper}
[emitters.spot]
width_mm = 3.0
height_mm = 3.0
flux_lm = 100.0
[train.film]
kind = "prism_film"
z_mm = 20.0
index = 1.586
along_deg = 90.0
width_mm = 40.0
height_mm = 30.0
[train.film.strips]
across = "x"
covered_mm = [[-20.0, -12.0], [-4.0, 4.0], [10.0, 20.0]]
[train.panel]
kind = "panel"
z_mm = 70.0
columns = 64
rows = 36
active_width_mm = 64.0
active_height_mm = 36.0
outer_width_mm = 70.0
outer_height_mm = 42.0
[train.stop]
kind = "aperture_stop"
z_mm = 200.0
diameter_mm = 30.0
"""


def piece_named(plan, name):
    return next(piece for piece in plan.pieces if piece.name == name)


@pytest.mark.parametrize("taper", [0.0, 12.0, -9.0, 40.0])
def test_folded_walls_close(taper):
    """Every edge of the net is as long as the same edge of the box in space."""
    scene = parse_scene(TAPERED.format(taper=taper))
    net = wall_net(scene, 8.0)
    slanted = [line.points for line in net.lines if line.role == "fold"]
    (x0, y0), (x1, y1) = ((0.5 * side for side in scene.housing.opening_mm(z)) for z in (0.0, 60.0))
    corner_edge = math.dist((x0, y0, 0.0), (x1, y1, 60.0))
    lengths = sorted(math.dist(*points) for points in slanted)
    expected = sorted([corner_edge] * 4 + [80.0, 80.0, 50.0, 50.0])
    assert lengths == pytest.approx(expected)
    # Area of a frustum's sides (mantle of a right pyramid frustum: mean girth times slant height).
    girth = 2.0 * (x0 + y0 + x1 + y1)
    slant = 60.0 / math.cos(math.radians(taper))
    inset = [min(8.0, 0.4 * edge) for edge in (80.0, 80.0, 50.0, 50.0, corner_edge)]
    flaps = sum(
        8.0 * (edge - cut)
        for edge, cut in zip((80.0, 80.0, 50.0, 50.0, corner_edge), inset, strict=True)
    )
    assert net.area_mm2 == pytest.approx(girth * slant + flaps)


def test_open_sides_have_no_walls():
    text = TAPERED.format(taper=0.0).replace("[housing.walls]", "[housing.base]")
    plan = cutting_plan(parse_scene(text.replace("taper_deg = 0.0", "")))
    assert "walls" not in [piece.name for piece in plan.pieces]
    assert piece_named(plan, "base").size_mm == pytest.approx((80.0, 50.0))
    assert any("open sides" in remark for remark in plan.remarks)


def test_strips_are_grouped_by_width_and_keep_their_ridges():
    plan = cutting_plan(parse_scene(TAPERED.format(taper=0.0)))
    narrow, wide = (piece_named(plan, f"film strip {number}") for number in (1, 2))
    assert (narrow.copies, wide.copies) == (2, 1)
    assert narrow.size_mm == pytest.approx((8.0, 30.0))
    assert wide.size_mm == pytest.approx((10.0, 30.0))
    (arrow,) = narrow.arrows
    assert arrow.start[0] == pytest.approx(arrow.end[0])
    guide = piece_named(plan, "film placing guide")
    assert_allclose(guide.lines[2].points, rectangle(10.0, 30.0, (15.0, 0.0)))


def test_pieces_of_a_lopsided_lamp_lie_as_seen_from_the_screen():
    """Ridges at 30 degrees from x towards y, and each strip on its own side of the axis."""
    plan = cutting_plan(lopsided())
    for name, axis, spans in (("film", 1, FILM_ACROSS_Y), ("sheet", 0, SHEET_ACROSS_X)):
        strips = piece_named(plan, f"{name} placing guide").lines[: len(spans)]
        for line, span in zip(strips, spans, strict=True):
            places = [point[axis] for point in line.points]
            assert (min(places), max(places)) == pytest.approx(span)
    (arrow,) = piece_named(plan, "film strip 1").arrows
    across, up = (end - start for start, end in zip(arrow.start, arrow.end, strict=True))
    assert math.degrees(math.atan2(up, across)) == pytest.approx(RIDGES_DEG)


def test_strips_of_a_polariser_keep_its_axis():
    scene = load_scene(Path(__file__).parents[1] / "scene" / "polarised.toml")
    (arrow,) = piece_named(cutting_plan(scene), "cleaner strip").arrows
    across, up = (end - start for start, end in zip(arrow.start, arrow.end, strict=True))
    assert math.degrees(math.atan2(up, across)) == pytest.approx(scene.train["cleaner"].pass_deg)
    assert arrow.word == "pass axis"


def test_walls_follow_one_another_as_seen_from_outside():
    """Around a box seen from outside, to the right: low y, high x, high y, low x (z up).

    Who looks along +y has +x on the right, and so on round the box.
    """
    notes = piece_named(cutting_plan(lopsided()), "walls").notes
    names = [note.text.split("\n")[0] for note in sorted(notes, key=lambda note: note.place[0])]
    assert names == ["wall at low y", "wall at high x", "wall at high y", "wall at low x"]


def test_walls_that_end_below_the_mouth_are_cut_as_high_as_they_are():
    text = TAPERED.format(taper=0.0).replace("taper_deg = 0.0", "from_mm = 5.0\nto_mm = 45.0")
    net = wall_net(parse_scene(text), 8.0)
    assert net.size_mm[1] == pytest.approx(40.0)


def test_kerf_is_half_outside_the_edge_and_inside_the_hole():
    plan = cutting_plan(parse_scene(TAPERED.format(taper=0.0)))
    plate = piece_named(plan, "stop plate").with_kerf(0.3)
    assert plate.size_mm == pytest.approx((60.3, 60.3))
    assert plate.circles[0].diameter_mm == pytest.approx(29.7)
    window = piece_named(plan, "panel window").with_kerf(0.3)
    assert_allclose(window.lines[0].points, rectangle(63.7, 35.7))
    assert_allclose(window.lines[1].points, rectangle(70.0, 42.0))  # a mark stays


def test_moved_outline_of_a_right_triangle():
    """Moving the edges of a triangle out by d adds d times its girth and d² Σ cot(angle/2)."""
    triangle = ((0.0, 0.0), (4.0, 0.0), (0.0, 3.0))
    grown = signed_area(moved_outward(triangle, 0.5))
    halves = (math.pi / 4, math.atan2(3, 4) / 2, math.atan2(4, 3) / 2)
    assert grown == pytest.approx(6.0 + 0.5 * 12.0 + 0.25 * sum(1 / math.tan(a) for a in halves))


def test_emitters_stand_where_the_scene_has_them():
    scene = load_scene(SPLIT_FILM)
    base = piece_named(cutting_plan(scene), "base")
    boxes = [line.points for line in base.lines if line.closed][1:]
    centres = [(0.5 * (box[0][0] + box[2][0]), 0.5 * (box[0][1] + box[2][1])) for box in boxes]
    assert_allclose(centres, scene.emitters["bars"].centres_mm())
    assert sum(circle.role == "cut" for circle in base.circles) == 6


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_shipped_scenes_have_a_parts_list(path):
    plan = cutting_plan(load_scene(path))
    lines = parts_list(plan)
    assert all(line.area_cm2 > 0.0 for line in lines)
    assert len(parts_csv(plan).splitlines()) == len(lines) + 1
    assert "finished areas" in parts_text(plan)


def test_areas_of_the_split_film_lamp():
    """By hand: 4 strips of 108 × 12 mm, and 128 × 90 mm of board less six holes of 3 mm."""
    areas = {line.name: line.area_cm2 for line in parts_list(
        cutting_plan(load_scene(SPLIT_FILM)))}  # fmt: skip
    assert areas["film strip"] == pytest.approx(51.84)
    assert areas["base"] == pytest.approx((128.0 * 90.0 - 6 * math.pi * 2.25) / 100.0)


@pytest.mark.parametrize(("kerf", "flap"), [(-0.1, 10.0), (6.0, 10.0), (0.0, 1.0)])
def test_senseless_sizes_are_refused(kerf, flap):
    with pytest.raises(ResultError, match="must be from"):
        cutting_plan(parse_scene(TAPERED.format(taper=0.0)), kerf, flap)
