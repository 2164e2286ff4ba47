"""The cutting sheet must measure true: lengths are read back from the written files."""

import math
import re
import zlib
from pathlib import Path
from xml.etree import ElementTree

import pytest

from photonsim.figures.sheets.cutting_sheet import (
    draw_cutting_sheet,
    draw_whole,
    save_cutting_sheet,
)
from photonsim.figures.sheets.page_layout import PAPERS, lay_out
from photonsim.scene import load_scene
from photonsim.workshop.cutting import cutting_plan
from photonsim.workshop.parts_list import HEADINGS, parts_rows
from tests.lopsided import lopsided

LAMPS = Path(__file__).parent.parent / "small_lamps"
# One point is 1/72 inch and one inch 25.4 mm (ISO 32000-1, 8.3.2.3; CSS Values, 5.2).
MM_PER_POINT = 25.4 / 72.0
SVG = "{http://www.w3.org/2000/svg}"
NUMBERS = re.compile(r"-?\d+(?:\.\d+)?")


@pytest.fixture(scope="module", params=["a4", "letter"])
def sheet(request, tmp_path_factory):
    plan = cutting_plan(load_scene(LAMPS / "split_film.toml"))
    folder = tmp_path_factory.mktemp(request.param)
    pages = draw_cutting_sheet(plan, [HEADINGS, *parts_rows(plan)], plan.remarks, request.param)
    return PAPERS[request.param], save_cutting_sheet(pages, draw_whole(plan), folder, "film")


def svg_lengths(path, name):
    """Return the (width, height) in mm of every line with a name in an SVG file."""
    found = []
    for group in ElementTree.parse(path).getroot().iter(f"{SVG}g"):
        if group.get("id") == name:
            for line in group.iter(f"{SVG}path"):
                numbers = [float(number) for number in NUMBERS.findall(line.get("d"))]
                across, up = numbers[0::2], numbers[1::2]
                found.append(
                    (
                        (max(across) - min(across)) * MM_PER_POINT,
                        (max(up) - min(up)) * MM_PER_POINT,
                    )
                )
    return found


def pdf_boxes(path):
    """Return page sizes, and the boxes in mm of all lines, by page, read from the PDF's streams."""
    raw = path.read_bytes()
    sizes = [
        tuple(float(number) * MM_PER_POINT for number in found.split()[2:4])
        for found in re.findall(rb"/MediaBox \[ ([^\]]*)\]", raw)
    ]
    boxes = []
    for stream in re.findall(rb"stream\r?\n(.*?)endstream", raw, re.DOTALL):
        try:
            # A decompressor of its own lets the line end after the stream be.
            text = zlib.decompressobj().decompress(stream).decode("latin-1")
        except zlib.error:
            continue
        for line in re.findall(r"((?:[-\d.]+ [-\d.]+ [ml]\n)+)", text):
            numbers = [float(number) * MM_PER_POINT for number in NUMBERS.findall(line)]
            across, up = numbers[0::2], numbers[1::2]
            boxes.append((max(across) - min(across), max(up) - min(up)))
    return sizes, boxes


def test_svg_pages_measure_true(sheet):
    paper, files = sheet
    pages = [path for path in files if re.search(r"-cutting-\d+\.svg$", path.name)]
    for path in pages:
        root = ElementTree.parse(path).getroot()
        width, height = (float(root.get(side).removesuffix("pt")) for side in ("width", "height"))
        assert width * MM_PER_POINT == pytest.approx(paper.width_mm, abs=1e-3)
        assert height * MM_PER_POINT == pytest.approx(paper.height_mm, abs=1e-3)
        box = [float(number) for number in root.get("viewBox").split()]
        assert box == pytest.approx([0.0, 0.0, width, height])
        lying, standing = svg_lengths(path, "ruler")
        assert lying == pytest.approx((100.0, 0.0), abs=1e-3)
        assert standing == pytest.approx((0.0, 100.0), abs=1e-3)
    strips = [size for path in pages for size in svg_lengths(path, "film strip")]
    assert strips == [pytest.approx((108.0, 12.0), abs=1e-3)]
    windows = [size for path in pages for size in svg_lengths(path, "panel window cut")]
    assert windows == [pytest.approx((95.04, 53.86), abs=1e-3)]


def test_whole_sheet_holds_every_copy(sheet):
    _, files = sheet
    strips = svg_lengths(files[-1], "film strip")
    assert len(strips) == 4
    assert strips == [pytest.approx((108.0, 12.0), abs=1e-3)] * 4
    (walls,) = svg_lengths(files[-1], "walls")
    # Two walls of 108 and two of 70 mm and the closing flap; 45 mm deep and the lower flap.
    assert walls == pytest.approx((2 * 108.0 + 2 * 70.0 + 10.0, 55.0), abs=1e-3)


@pytest.mark.parametrize("lamp", [lopsided(), load_scene(LAMPS / "split_film.toml")], ids=str)
def test_board_plan_measures_true(lamp, tmp_path):
    """Each part as far from the base's front as the scene has it, in the order of the train."""
    plan = cutting_plan(lamp)
    files = save_cutting_sheet([], draw_whole(plan), tmp_path, "lamp")
    drawn = [max(size) for size in svg_lengths(files[-1], "board plan size")]
    assert drawn == pytest.approx([part.z_mm for part in lamp.train.values()], abs=1e-3)
    (axis,) = svg_lengths(files[-1], "board plan axis")
    (outline,) = svg_lengths(files[-1], "board plan")
    assert max(axis) == pytest.approx(max(outline), abs=1e-3)


def test_pdf_measures_true(sheet):
    paper, files = sheet
    sizes, boxes = pdf_boxes(files[0])
    assert len(sizes) == len([path for path in files if path.suffix == ".svg"]) - 1
    assert sizes == [pytest.approx((paper.width_mm, paper.height_mm), abs=1e-3)] * len(sizes)
    for wanted in ((108.0, 12.0), (95.04, 53.86), (128.0, 90.0)):
        assert any(box == pytest.approx(wanted, abs=1e-3) for box in boxes), wanted
    assert sum(box == pytest.approx((100.0, 0.0), abs=1e-3) for box in boxes) == len(sizes)


def test_tiles_meet_in_their_register_marks():
    plan = cutting_plan(load_scene(LAMPS / "point_lamp.toml"))
    paper = PAPERS["a4"]
    places = {}
    tiled = [page for page in lay_out(list(enumerate(plan.pieces, 1)), paper) if page.marks]
    assert len(tiled) >= 2
    for page in tiled:
        (placed,) = page.placed
        for mark in page.marks:
            on_piece = (mark.place[0] - placed.shift[0], mark.place[1] - placed.shift[1])
            places.setdefault((placed.number, mark.label), []).append(on_piece)
    for label, shared in places.items():
        assert len(shared) == 2, label
        assert math.dist(*shared) < 1e-9, label


def test_same_plan_gives_the_same_bytes(tmp_path):
    plan = cutting_plan(load_scene(LAMPS / "point_lamp.toml"), kerf_mm=0.2)
    written = []
    for folder in ("one", "other"):
        pages = draw_cutting_sheet(plan, [HEADINGS, *parts_rows(plan)], plan.remarks)
        files = save_cutting_sheet(pages[:2], draw_whole(plan), tmp_path / folder, "film")
        written.append([path.read_bytes() for path in files])
    assert written[0] == written[1]
