"""Files: all that were promised, the same bytes each time, and plain words where it fails."""

import re
import xml.etree.ElementTree as ET

import matplotlib
import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from photonsim.figures import draw_all, draw_comparison, draw_maps, save_figure
from photonsim.figures.lamp.side_view_light import draw_paths
from photonsim.figures.style import group_style
from photonsim.results import ResultError

FIGURES = ["maps", "spread", "intensity", "ledger", "profile", "emission", "side_view"]


@pytest.mark.filterwarnings("error")
def test_all_figures_become_files(usual, tmp_path):
    result, paths = usual
    folder = tmp_path / "new" / "folder"
    written = draw_all(result, paths, folder, "dusk", formats=("svg",))
    assert written == [folder / f"dusk-{name}.svg" for name in FIGURES]
    for path in written:
        ET.parse(path)


def test_light_paths_come_in_an_order_that_no_start_of_python_changes(usual):
    names = {group_style(path.group).colour: path.group for path in usual[1]}
    axes = Figure().subplots()
    draw_paths(axes, usual[1], "y")
    drawn = [names[to_hex(lines.get_color()[0]).upper()] for lines in axes.collections]
    others = [group for group in drawn if group != "stop"]
    assert len(others) > 2
    assert others == sorted(others)


@pytest.mark.filterwarnings("error")
def test_comparison_becomes_a_file(usual, lonely, tmp_path):
    written = draw_comparison([("a", usual[0]), ("b", lonely[0])], tmp_path, "two")
    assert written == [tmp_path / "two-comparison.png"]
    assert written[0].read_bytes().startswith(b"\x89PNG")


def test_svg_has_the_same_bytes_twice_whatever_the_users_settings(lonely, tmp_path):
    one = save_figure(draw_maps(lonely[0]), tmp_path, "one", ("svg",))[0].read_bytes()
    with matplotlib.rc_context({"font.size": 20.0, "axes.facecolor": "black", "axes.grid": True}):
        before = dict(matplotlib.rcParams)
        two = save_figure(draw_maps(lonely[0]), tmp_path, "two", ("svg",))[0].read_bytes()
        assert dict(matplotlib.rcParams) == before, "the user's settings were changed"
    assert one == two
    assert b"<dc:date>" not in one
    # Words stay words: a dollar sign starts no formula, a control character spoils no file.
    assert b"One lamp, $5_^{ " in one
    ET.fromstring(one)


def test_foreign_format_is_refused(tmp_path):
    with pytest.raises(ResultError, match="as png, svg or pdf, not as bmp"):
        save_figure(Figure(), tmp_path, "x", ("png", "bmp"))
    assert not list(tmp_path.iterdir())


def test_place_that_is_a_file_is_told(tmp_path):
    blocking = tmp_path / "taken"
    blocking.write_text("")
    with pytest.raises(ResultError, match=re.escape("could not be written")):
        save_figure(Figure(), blocking, "x", ("svg",))
