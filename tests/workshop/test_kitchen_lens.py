"""Salvaged lenses: readings taken from a known lens give that lens back."""

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.results import ResultError
from photonsim.scene import RealLens
from photonsim.workshop.kitchen_lens import kitchen_lens, kitchen_text


def from_the_middle(radii, thickness, index):
    """Return how far from a lens's middle light from afar meets: the mean of both ways round.

    Ray by ray and face by face near the axis, n' u' = n u - y (n' - n) / R (Smith, Modern Optical
    Engineering, paraxial ray tracing), with radii that are positive where a face bulges.
    """
    focus = []
    for first, last in (radii, radii[::-1]):
        height, slope = 1.0, 0.0
        slope = -height * (index - 1.0) / first / index
        height += thickness * slope
        slope = index * slope - height * (1.0 - index) / -last
        focus.append(0.5 * thickness - height / slope)
    return 0.5 * sum(focus)


def lens(thickness, diameter, lamp, screen, index):
    return RealLens(
        z_mm=1.0,
        thickness_mm=thickness,
        diameter_mm=diameter,
        radius_lamp_mm=lamp,
        radius_screen_mm=screen,
        index=index,
    )


def test_printed_equiconvex_lens_comes_back():
    """W. J. Smith, p. 52: R = 100, t = 10, n = 1.5 has f = 101.6949.

    Its planes lie f (n - 1) t / (n R) inside the faces: the image is 1.6102 mm beyond f.
    """
    known = lens(10.0, 50.0, 100.0, -100.0, 1.5)
    inside = 101.6949 * 0.5 * 10.0 / (1.5 * 100.0)
    focal = 101.6949 + 5.0 - inside
    assert focal == pytest.approx(from_the_middle((100.0, 100.0), 10.0, 1.5), abs=1e-4)
    found = kitchen_lens(50.0, 10.0, known.edge_thickness_mm, focal)
    assert [radius.value for radius in found.radii] == pytest.approx([100.0, 100.0], rel=1e-9)
    assert found.index.value == pytest.approx(1.5, abs=1e-5)
    assert found.is_plausible


@pytest.mark.parametrize("side", ["lamp", "screen"])
def test_plano_convex_lens_comes_back_either_way_round(side):
    """R = 51.68, n = 1.5168: f = R / (n - 1) = 100 (check-values 7b)."""
    radii = (51.68, None) if side == "lamp" else (None, -51.68)
    known = lens(8.0, 40.0, *radii, 1.5168)
    focal = from_the_middle((51.68, 1e15), 8.0, 1.5168)
    # With one flat face f itself counts from the curved one: half of t (1 - 1/n) beyond the middle.
    assert focal == pytest.approx(100.0 + 4.0 * (1.0 - 1.0 / 1.5168))
    found = kitchen_lens(40.0, 8.0, known.edge_thickness_mm, focal, side)
    flat, curved = (1, 0) if side == "lamp" else (0, 1)
    assert found.radii[flat] is None
    assert found.radii[curved].value == pytest.approx(51.68, rel=1e-9)
    assert found.index.value == pytest.approx(1.5168, abs=1e-6)
    part = found.part(1.0)
    ours = [round(radius, 1) if radius else None for radius in radii]
    assert [part.radius_lamp_mm, part.radius_screen_mm] == ours


@pytest.mark.parametrize("measured", [(80.0, None), (None, 240.0), (80.0, 240.0)])
def test_unequal_faces_come_back_where_one_or_both_were_measured(measured):
    known = lens(9.0, 50.0, 80.0, -240.0, 1.586)
    focal = from_the_middle((80.0, 240.0), 9.0, 1.586)
    found = kitchen_lens(50.0, 9.0, known.edge_thickness_mm, focal, radii_mm=measured)
    assert [radius.value for radius in found.radii] == pytest.approx([80.0, 240.0], rel=1e-9)
    assert found.index.value == pytest.approx(1.586, abs=1e-6)
    assert found.misfit_mm.value == pytest.approx(0.0, abs=1e-9)
    assert "measure again" not in kitchen_text(found)


def test_a_hollow_face_is_a_meniscus():
    known = lens(6.0, 40.0, 50.0, 150.0, 1.5)
    focal = from_the_middle((50.0, -150.0), 6.0, 1.5)
    found = kitchen_lens(40.0, 6.0, known.edge_thickness_mm, focal, radii_mm=(None, -150.0))
    assert found.part(1.0) == known


def test_radii_that_contradict_the_rim_are_told():
    found = kitchen_lens(60.0, 9.0, 4.3, 187.0, radii_mm=(150.0, 400.0))
    sags = sum(radius - (radius**2 - 900.0) ** 0.5 for radius in (150.0, 400.0))
    assert found.misfit_mm.value == pytest.approx(4.7 - sags)
    assert "thicker than these radii" in kitchen_text(found)


def test_errors_are_those_of_the_readings():
    """R = h² / 2 s nearly: a tenth of a millimetre on each of two thicknesses, and on 2 h."""
    found = kitchen_lens(40.0, 8.0, 4.0, 100.0, "screen")
    relative = ((0.1 / 4.0) ** 2 * 2.0 + (2.0 * 0.1 / 40.0) ** 2) ** 0.5
    assert found.radii[1].relative_error == pytest.approx(relative, rel=0.1)
    assert found.index.error > 0.01


def test_odd_readings_are_told():
    with pytest.raises(ResultError, match="thicker in the middle"):
        kitchen_lens(40.0, 4.0, 4.0, 100.0)
    with pytest.raises(ResultError, match=r"index of 2\.7.*1\.3 and 2\.2"):
        kitchen_lens(60.0, 9.0, 4.3, 60.0)
    with pytest.raises(ResultError, match="flat, and to have a radius"):
        kitchen_lens(60.0, 9.0, 4.3, 187.0, "screen", (150.0, None))
    with pytest.raises(ResultError, match="more than half the diameter"):
        kitchen_lens(60.0, 9.0, 4.3, 187.0, "both", (29.0, None))
    assert "measure again" in kitchen_text(kitchen_lens(60.0, 9.0, 4.3, 93.0))
    done = CliRunner().invoke(
        main, ["lens", "--diameter", "60", "--centre", "4", "--edge", "9", "--focal", "187"]
    )
    assert done.exit_code == 2


def test_help_tells_every_range():
    done = CliRunner().invoke(main, ["lens", "--help"])
    assert "None" not in done.output and "[1<=x<=1000; required]" in done.output


def test_command_writes_a_part():
    done = CliRunner().invoke(
        main, ["lens", "--diameter", "60", "--centre", "9", "--edge", "4.3", "--focal", "187"]
    )
    assert done.exit_code == 0, done.output
    assert '[train.magnifier]\nkind = "real_lens"' in done.output
