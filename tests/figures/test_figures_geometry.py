"""What the figures draw is where and as large as it ought to be."""

import itertools
import math
from dataclasses import replace
from pathlib import Path

import matplotlib.pyplot as plt
import numpy as np
import pytest

from photonsim.figures import draw_intensity, draw_side_view
from photonsim.figures.lamp.flags import tiers
from photonsim.figures.lamp.side_view_parts import ACROSS, IN_PLANE
from photonsim.figures.panel.axes import block_edges_mm
from photonsim.figures.panel.counting import counts_with_errors
from photonsim.figures.panel.intensity import BIN_SOLID_ANGLE_SR
from photonsim.figures.panel.maps import block_note, map_blocks, print_note
from photonsim.figures.panel.plan import draw_rim
from photonsim.figures.style import GROUP_STYLES
from photonsim.results.panel.blocks import about
from photonsim.scene import parse_scene, scene_from_dict
from tests.figures.layout import assert_readable
from tests.physics.plate_scenes import ROW, plate_scene
from tests.shipped import scene

SCENES = Path(__file__).parents[1] / "scene"


def test_bins_of_a_plane_make_a_spherical_zone():
    # Half a zone of a sphere, 5 degrees to either side of the equator: pi * h with h = 2 sin 5
    # degrees (Archimedes, On the Sphere and Cylinder; published).
    zone = math.pi * 2.0 * math.sin(math.radians(5.0))
    assert zone == pytest.approx(90 * BIN_SOLID_ANGLE_SR)


def test_lambertian_counts_lie_on_the_lambertian_curve(usual):
    # Lambert's law: flux F gives F/pi on the axis (Photometria, 1760; any textbook; published).
    result, _ = usual
    angles = np.radians(np.arange(-89.0, 90.0, 2.0))
    photons = 10_000_000
    expected = np.cos(angles) / math.pi * BIN_SOLID_ANGLE_SR * photons
    batches = {name: 0 * array[:1] for name, array in result.tallies.batches.items()}
    batches["plane_x"][0, 0] = batches["plane_y"][0, 0] = np.round(expected)
    batches["incident"][0] = photons
    tallies = replace(
        result.tallies, photons=photons, batch_photons=photons, batches=batches, guide=None
    )
    figure = draw_intensity(replace(result, tallies=tallies))
    for axes in figure.axes:
        reference, arriving = axes.lines[0], axes.lines[1]
        on_curve = np.interp(arriving.get_xdata(), reference.get_xdata(), reference.get_ydata())
        assert on_curve == pytest.approx(arriving.get_ydata(), rel=2e-3, abs=0.05)
        assert reference.get_ydata().max() == pytest.approx(result.optics.flux_lm / math.pi)
        # The intensity of a Lambertian has halved at 60 degrees (cos 60 = 1/2; published).
        assert axes.lines[3].get_xdata() == pytest.approx((-60.0, 60.0), abs=0.15)


def test_side_view_is_to_scale_in_both_planes(usual, lonely):
    for result, paths in (usual, lonely):
        figure = draw_side_view(result.scene, paths)
        scales = []
        for axes in figure.axes:
            box = axes.get_window_extent()
            scales += [box.width / np.ptp(axes.get_xlim()), box.height / np.ptp(axes.get_ylim())]
        assert scales[:4] == pytest.approx([scales[0]] * 4, rel=1e-6)
        # The lamp alone, drawn once more, is on a scale of its own and says so.
        assert scales[4:] == pytest.approx([scales[-1]] * len(scales[4:]), rel=1e-6)
        for axes in figure.axes[2:]:
            assert f"{scales[-1] / scales[0]:.1f} times larger" in axes.get_title(loc="left")


def test_a_polarisers_field_is_drawn_in_its_plane_or_across():
    """Along x: a double arrow in the view from above, a dot in that from the side."""
    stack = (SCENES / "polarised.toml").read_text("utf-8")
    figure = draw_side_view(parse_scene(stack.replace("pass_deg = 2.0", "pass_deg = 45.0")))
    assert_readable(figure)
    side, above = (
        [(line.get_xdata()[0], line.get_marker(), line.get_markersize()) for line in axes.lines]
        for axes in figure.axes[:2]
    )
    for view, mark in ((side, ACROSS), (above, IN_PLANE)):
        assert {m for z, m, _ in view if z == 60.0} - {"None"} == {mark}
        slanted = {m: size for z, m, size in view if z == 22.0 and m in (ACROSS, IN_PLANE)}
        assert slanted[ACROSS] == pytest.approx(slanted[IN_PLANE])


def test_a_long_train_shows_its_lamp_once_more_and_a_large_disc_sets_no_scale():
    """The film lamp with its objective 300 mm farther and a field lens of 280 mm."""
    text = scene("d").text
    for z in (208, 230, 246):
        text = text.replace(f"z_mm = {z}.0", f"z_mm = {z + 300}.0")
    assert "diameter_mm = 130.0" in text
    long = parse_scene(text.replace("diameter_mm = 130.0", "diameter_mm = 280.0"))
    figure = draw_side_view(long)
    assert_readable(figure)
    assert len(figure.axes) == 4
    assert figure.axes[0].get_ylim()[1] < 70.0, "half the box is 54 mm wide"
    assert figure.axes[2].get_xlim()[1] < 60.0, "lamp and panel end at 45 mm"


def test_styles_differ_without_their_colours():
    dashes = [style.dashes for style in GROUP_STYLES.values()]
    hatches = [style.hatch for style in GROUP_STYLES.values()]
    assert len(set(dashes)) == len(dashes)
    assert len(set(hatches)) == len(hatches)


def test_flags_neither_overlap_nor_cross_poles():
    places = [0.0, 1.0, 1.0, 3.0, 3.2, 9.0, 14.0, 30.0]
    widths = [5.0, 4.0, 6.0, 2.0, 9.0, 3.0, 8.0, 2.0]
    found = tiers(places, widths, 0.5)
    for one, other in itertools.combinations(range(len(places)), 2):
        # The right one's pole goes through all tiers up to its own.
        if found[other] >= found[one]:
            assert places[one] + widths[one] + 0.5 <= places[other]
    assert tiers([0.0, 10.0], [5.0, 5.0], 0.5) == [0, 0]


def test_blocks_cover_the_panel_exactly(usual, lonely):
    for result, _ in (usual, lonely):
        panel = result.scene.panel
        for blocks in (9, 17, 48, 10_000):
            x, y = block_edges_mm(result, blocks)
            shape = result.illuminance_map("incident", blocks).shape
            assert (len(y) - 1, len(x) - 1) == shape
            assert (x[-1], y[-1]) == (0.5 * panel.active_width_mm, 0.5 * panel.active_height_mm)
            assert (np.diff(x) > 0.0).all() and (np.diff(y) > 0.0).all()


def test_errors_of_counts_are_those_of_batches(usual):
    result, _ = usual
    counts, errors = counts_with_errors(result, "profile_y", 0, joined=8)
    assert counts.sum() == result.tallies.batches["incident"].sum()
    complete = result.tallies.complete_batches
    batches = result.tallies.batches["profile_y"][:complete, 0].reshape(complete, -1, 8).sum(axis=2)
    total_of_complete = np.sqrt(((batches - batches.mean(axis=0)) ** 2).sum(axis=0)) * math.sqrt(
        complete / (complete - 1)
    )
    ratio = result.photons / (complete * result.tallies.batch_photons)
    assert errors == pytest.approx(total_of_complete * math.sqrt(ratio))


def with_photons_a_pixel(result, count):
    panel = np.full_like(result.tallies.panel, count)
    batches = result.tallies.batches | {"squares": result.tallies.batches["cells"]}
    tallies = replace(result.tallies, panel=panel, batches=batches, guide=None)
    return replace(result, tallies=tallies)


def test_a_map_says_into_how_many_blocks_it_was_divided_and_what_it_lacks(usual):
    """Of 320 x 240 pixels, at 400 photons a block for 5 %; the emitters are 8 mm apart."""
    result, _ = usual
    # 1 photon a pixel: blocks of 20 x 20 are 16 across, of 96 mm: 6 mm each, more than half a
    # pitch. 700 blocks, here 31 x 23 = 713, need 713 * 400 photons and have 76,800.
    few = with_photons_a_pixel(result, 1)
    assert map_blocks(few, "collected") == 16
    note = block_note(few, "collected", 16)
    panel = result.scene.panel
    side_mm = math.sqrt(panel.active_width_mm * panel.active_height_mm / 192)
    assert f"mean over {side_mm:.2g} mm (192 windows), noise ±5.0 %" in note
    assert f"700 at 5 % take {about(result.photons * 713 * 400 / 76_800)} photons" in note
    assert "too coarse to show the emitters' pattern" in note
    assert f"takes {about(result.photons * 52 * 39 / 0.03**2 / 76_800)} photons" in print_note(few)
    # 100 a pixel: as fine as print, 52 x 39 = 2,028 blocks of 3,787 each.
    many = with_photons_a_pixel(result, 100)
    note = block_note(many, "collected", map_blocks(many, "collected"))
    side_mm = math.sqrt(panel.active_width_mm * panel.active_height_mm / 2028)
    assert note == f"mean over {side_mm:.2g} mm (2,028 windows), noise ±1.6 %"
    assert print_note(many) == ""
    none = with_photons_a_pixel(result, 0)
    assert block_note(none, "collected", 9) == "no photon counted"
    assert "no light is collected" in print_note(none)


@pytest.mark.parametrize(("edge", "rim"), [("-y", 0.0), ("+y", 1.0), ("-x", 0.0), ("+x", 1.0)])
def test_emitters_on_an_edge_stand_at_that_rim_of_a_map(edge, rim):
    row = ROW | {"edge": edge, "width_mm": 6.0, "columns": 3, "pitch_mm": 12.0}
    axes = plt.figure().subplots()
    axes.set(xlim=(-45.0, 45.0), ylim=(-25.0, 25.0))
    draw_rim(axes, scene_from_dict(plate_scene(groups=(row,))))
    along = "yx".index(edge[1])
    (ends,) = filter(None, (bars.get_segments() for bars in axes.collections))
    ends = np.array(ends)
    assert ends[:, :, 1 - along] == pytest.approx(rim)
    assert ends[:, 0, along] == pytest.approx([-15.0, -3.0, 9.0])
    plt.close()
