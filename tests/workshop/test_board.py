"""What stands on the board and where boards meet, against plain geometry of the thing built."""

import math
import re

import numpy as np
import pytest

from photonsim.program import build_program
from photonsim.scene import load_scene, parse_scene
from photonsim.workshop.cutting import cutting_plan
from photonsim.workshop.mounts import mounts_of
from photonsim.workshop.parts_list import parts_list
from tests.lopsided import lopsided
from tests.shipped import SCENES, scene
from tests.workshop.test_cutting import SPLIT_FILM, TAPERED, piece_named

BOX = "depth_mm = 45.0"


def split_film(stock_mm, *changes):
    """The lamp of 108 x 70 x 45 mm with film at 12 and its panel on the rim, of such a board."""
    text = SPLIT_FILM.read_text("utf-8").replace(BOX, f"{BOX}\nstock_mm = {stock_mm}")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    return parse_scene(text)


def mount_named(lamp, name):
    return next(mount for mount in mounts_of(lamp) if mount.name == name)


@pytest.mark.parametrize("stock", [2.0, 4.0, 9.0])
def test_boards_of_the_box_fill_its_shell_without_gap_or_overlap(stock):
    """Base and walls together: the box outside less the room inside. The walls end one board below
    the panel's plane, which the plate on their rim brings up again."""
    plan = cutting_plan(split_film(stock))
    names = ("base", "walls at low and high y", "walls at low and high x")
    boards = [piece_named(plan, name) for name in names]
    holes = 6 * math.pi * 1.5**2
    volume = stock * (sum(board.copies * board.area_mm2 for board in boards) + holes)
    deep = 45.0 - stock
    outside = (108.0 + 2.0 * stock) * (70.0 + 2.0 * stock) * (deep + stock)
    assert volume == pytest.approx(outside - 108.0 * 70.0 * deep)
    assert mount_named(split_film(stock), "panel").high_mm == 45.0
    # Two opposite walls span the room inside, the other two cover their ends.
    between, outer = boards[1:]
    assert between.size_mm == pytest.approx((108.0, deep))
    assert outer.size_mm == pytest.approx((70.0 + 2.0 * stock, deep))
    assert "between" in between.remark and "covers the ends" in outer.remark


@pytest.mark.parametrize("taper", [12.0, -9.0])
def test_slanted_boards_meet_along_the_inner_edges_of_the_box(taper):
    lamp = parse_scene(TAPERED.format(taper=taper).replace("depth_mm = 60.0",
                       "depth_mm = 60.0\nstock_mm = 3.0"))  # fmt: skip
    plan = cutting_plan(lamp)
    (x0, y0), (x1, y1) = ((0.5 * side for side in lamp.housing.opening_mm(z)) for z in (0.0, 60.0))
    corner_edge = math.dist((x0, y0, 0.0), (x1, y1, 60.0))
    for name in ("walls at low and high y", "walls at low and high x"):
        lower_left, _, _, upper_left = piece_named(plan, name).outline
        assert math.dist(lower_left, upper_left) == pytest.approx(corner_edge)
    low = piece_named(plan, "walls at low and high y").outline[:2]
    assert math.dist(*low) == pytest.approx(80.0)
    # A leaning board of 3 mm takes 3 / cos of the lean, at each end.
    low = piece_named(plan, "walls at low and high x").outline[:2]
    assert math.dist(*low) == pytest.approx(50.0 + 6.0 / math.cos(math.radians(taper)))
    assert f"taper of {taper:g}" in piece_named(plan, "walls at low and high x").remark


def test_a_sheet_is_cut_to_pass_the_narrower_of_its_two_faces():
    text = TAPERED.format(taper=-9.0).replace("width_mm = 40.0\nheight_mm = 30.0",
                                              "thickness_mm = 4.0")  # fmt: skip
    text = re.sub(r"\[train.film.strips\].*?(?=\[train.panel)", "", text, flags=re.DOTALL)
    width, height = piece_named(cutting_plan(parse_scene(text)), "film").size_mm
    lost = 2.0 * 24.0 * math.tan(math.radians(9.0))
    assert (width, height) == pytest.approx((80.0 - lost, 50.0 - lost))


def test_walls_are_marked_where_both_faces_of_a_sheet_lie():
    plan = cutting_plan(split_film(4.0, ('kind = "prism_film"', 'kind = "prism_film"\n'
                                         "thickness_mm = 1.5")))  # fmt: skip
    for name in ("walls at low and high y", "walls at low and high x"):
        heights = [line.points[0][1] for line in piece_named(plan, name).lines]
        assert heights == pytest.approx([12.0, 13.5])


def test_a_lens_lies_with_its_rim_on_its_plate():
    """A sphere of radius R meets the circle of its rim R - sqrt(R² - h²) behind its vertex."""
    lamp = scene("d", stock=f"{BOX} => {BOX}\nstock_mm = 4.0")
    rear, front = mount_named(lamp, "rear_lens"), mount_named(lamp, "front_lens")
    part = lamp.train["rear_lens"]
    radius, half = part.radius_lamp_mm, 0.5 * part.diameter_mm
    rim = part.z_mm + radius - math.sqrt(radius**2 - half**2)
    assert (rear.low_mm, rear.high_mm) == pytest.approx((rim - 4.0, rim))
    assert front.high_mm == lamp.train["front_lens"].z_mm  # flat to the lamp


def test_a_plate_goes_to_the_other_side_where_a_part_is_in_its_way():
    """The panel, 1.5 mm thick, ends at 46.5: a board of 4 mm has no room before the lens at 50."""
    lens = mount_named(split_film(4.0), "field_lens")
    assert (lens.low_mm, lens.high_mm, lens.clash) == (50.0, 54.0, "")
    assert mount_named(split_film(3.0), "field_lens").low_mm == 47.0
    lamp = scene("h", stock=f"{BOX} => {BOX}\nstock_mm = 30.0")
    clashes = {mount.name: mount.clash for mount in mounts_of(lamp) if mount.clash}
    assert clashes == {"stop": "rear_lens", "middle_lens": "stop"}  # 22 and 4 mm between planes
    assert any("stop has no room" in remark for remark in cutting_plan(lamp).remarks)


def drawn_sizes(plan):
    """Every dimension line of the board plan as (words, from, to)."""
    board = piece_named(plan, "board plan")
    lines = {line.points[0][1]: line.points for line in board.lines if line.role == "size"}
    return [
        (note.text, *(point[0] for point in lines[note.place[1]]))
        for note in board.notes
        if note.place[1] in lines
    ]


@pytest.mark.parametrize(
    "path", [None, *SCENES], ids=lambda path: path.stem if path else "lopsided"
)
def test_every_part_stands_where_its_dimension_says(path):
    lamp = load_scene(path) if path else lopsided()
    sizes = drawn_sizes(cutting_plan(lamp))
    assert len(sizes) == len(lamp.train)
    for (words, start, end), (name, part) in zip(sizes, lamp.train.items(), strict=True):
        assert words.startswith(f"{name} {part.z_mm:.1f}")
        assert (start, end) == (0.0, part.z_mm)
    board = piece_named(cutting_plan(lamp), "board plan")
    left, low, right, high = board.bounds_mm
    assert left < 0.0 and right > max(part.z_mm for part in lamp.train.values())
    for line in board.lines:
        for x, y in line.points:
            assert left - 1e-9 <= x <= right + 1e-9 and low - 1e-9 <= y <= high + 1e-9
    for note in board.notes:
        assert left < note.place[0] < right and low < note.place[1] < high


def test_feet_and_axis_of_the_split_film_lamp():
    """By hand: the largest plate, of the field lens, is 130 + 30 mm high, so the axis lies at 80.

    Base of 70 + 2 × 4, panel window of 70 + 2 × (15 + 4), stop of 40 + 30 mm.
    """
    board = piece_named(cutting_plan(split_film(4.0)), "board plan")
    boxes = [line.points for line in board.lines if line.role == "mark" and line.closed]
    spans = {(box[0][0], box[1][0], box[2][1] - box[0][1]) for box in boxes}
    for foot in (
        (-4.0, 0.0, 116.0),
        (41.0, 45.0, 146.0),
        (50.0, 54.0, 160.0),
        (226.0, 230.0, 70.0),
    ):
        assert any(span == pytest.approx(foot) for span in spans), (foot, spans)
    walls = next(box for box in boxes if box[0][0] == 0.0)
    assert walls[1][0] == 41.0 and walls[2][1] == 58.0
    assert "the axis lies 80.0 mm above the board" in board.remark
    assert "base 41.0, panel 26.0" in board.remark and "stop 45.0" in board.remark


def test_room_for_cable_switch_and_heat_sink():
    text = (SCENES[0].parents[1] / "tests" / "scene" / "fed.toml").read_text("utf-8")
    bare = piece_named(cutting_plan(parse_scene(text)), "board plan")
    more = "[supply]\nswitch_width_mm = 30.0\nswitch_depth_mm = 22.0"
    text = text.replace('kind = "panel"', 'kind = "panel"\ncable_width_mm = 24.0')
    lamp = parse_scene(text.replace("[supply]", more))
    board = piece_named(cutting_plan(lamp), "board plan")
    (slot,) = (line for line in board.lines if line.role == "cut")
    assert slot.points[0][0] == lamp.panel.end_mm and slot.points[2][1] == 0.5 * 28.0
    assert board.size_mm[0] - bare.size_mm[0] == pytest.approx(22.0 + 10.0)
    assert bare.bounds_mm[0] == pytest.approx(-20.0 - 10.0 - lamp.supply.heat_sink.fin_depth_mm)
    assert {"switch", "heat sink", "panel's cable"} <= {note.text for note in board.notes}
    half = parse_scene(text.replace("[supply]", "[supply]\nswitch_width_mm = 30.0"))
    assert [mistake.path for mistake in half.supply.mistakes] == ["supply.switch_depth_mm"]
    assert "supply table has mistakes" in piece_named(cutting_plan(half), "board plan").remark


def test_a_square_sheet_is_cut_and_sits_in_a_square_window():
    deep = "depth_mm = 124.0 => depth_mm = 124.0\nstock_mm = 6.0"
    lamp = scene("j", a="diameter_mm = 118.0 => width_mm = 110.0\nheight_mm = 80.0", b=deep)
    plan = cutting_plan(lamp)
    sheet, plate = piece_named(plan, "field_lens"), piece_named(plan, "field_lens plate")
    assert sheet.size_mm == (110.0, 80.0) and sheet.material == "Fresnel lens 2 mm"
    assert plate.area_mm2 == pytest.approx(126.0**2 - 110.0 * 80.0)
    # Without a border of 3 mm there is no plate, and the walls hold the sheet itself.
    lamp = scene("j", a="diameter_mm = 118.0 => width_mm = 124.0\nheight_mm = 80.0", b=deep)
    assert "field_lens plate" not in [piece.name for piece in cutting_plan(lamp).pieces]
    mount = mount_named(lamp, "field_lens")
    assert (mount.low_mm, mount.high_mm) == (120.0, 122.0)


def test_materials_tell_their_thickness():
    stuff = {line.name: line.material for line in parts_list(cutting_plan(split_film(4.0)))}
    assert stuff["film strip"] == "prism film 0.25 mm"
    assert stuff["base"] == stuff["panel window"] == "4 mm board"


def test_default_thicknesses_written_out_change_nothing_that_is_traced():
    lamp = lopsided()
    train = {
        name: part.model_copy(update={"thickness_mm": part.thickness_mm})
        for name, part in lamp.train.items()
    }
    written = parse_scene(lamp.model_copy(update={"train": train}).text)
    assert "thickness_mm" in written.text and "thickness_mm" not in lamp.text
    for one, other in zip(build_program(lamp), build_program(written), strict=True):
        np.testing.assert_array_equal(one, other)
