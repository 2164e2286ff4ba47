"""Salvaged lenses: readings taken from a known lens give that lens back."""

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.results import ResultError
from photonsim.scene import RealLens
from photonsim.workshop.kitchen_lens import kitchen_lens, kitchen_text


def test_printed_equiconvex_lens_comes_back():
    """W. J. Smith, p. 52: R = 100, t = 10, n = 1.5 has f = 101.6949."""
    known = RealLens(
        z_mm=1.0,
        thickness_mm=10.0,
        diameter_mm=50.0,
        radius_lamp_mm=100.0,
        radius_screen_mm=-100.0,
        index=1.5,
    )
    found = kitchen_lens(50.0, 10.0, known.edge_thickness_mm, 101.6949, "both_curved")
    assert found.radius.value == pytest.approx(100.0, rel=1e-9)
    assert found.index.value == pytest.approx(1.5, abs=1e-5)
    assert found.is_plausible


def test_plano_convex_lens_comes_back():
    """R = 51.68, n = 1.5168: f = R / (n - 1) = 100 (check-values 7b)."""
    known = RealLens(
        z_mm=1.0, thickness_mm=8.0, diameter_mm=40.0, radius_screen_mm=-51.68, index=1.5168
    )
    found = kitchen_lens(40.0, 8.0, known.edge_thickness_mm, 100.0, "flat_and_curved")
    assert found.radius.value == pytest.approx(51.68, rel=1e-9)
    assert found.index.value == pytest.approx(1.5168, abs=1e-4)


def test_errors_are_those_of_the_readings():
    """R = h² / 2 s nearly: a tenth of a millimetre on each of two thicknesses, and on 2 h."""
    found = kitchen_lens(40.0, 8.0, 4.0, 100.0, "flat_and_curved")
    relative = ((0.1 / 4.0) ** 2 * 2.0 + (2.0 * 0.1 / 40.0) ** 2) ** 0.5
    assert found.radius.error / found.radius.value == pytest.approx(relative, rel=0.1)
    assert found.index.error > 0.01


def test_odd_readings_are_told():
    with pytest.raises(ResultError, match="thicker in the middle"):
        kitchen_lens(40.0, 4.0, 4.0, 100.0, "both_curved")
    assert "measure again" in kitchen_text(kitchen_lens(60.0, 9.0, 8.0, 100.0, "both_curved"))
    done = CliRunner().invoke(
        main, ["lens", "--diameter", "60", "--centre", "4", "--edge", "9", "--focal", "187"]
    )
    assert done.exit_code == 2


def test_command_writes_a_part():
    done = CliRunner().invoke(
        main, ["lens", "--diameter", "60", "--centre", "9", "--edge", "4.3", "--focal", "187"]
    )
    assert done.exit_code == 0, done.output
    assert '[train.magnifier]\nkind = "real_lens"' in done.output
