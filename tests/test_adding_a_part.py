"""The recipe of DEVELOPERS.md, 'Adding a part', followed to the letter in a copy of the package."""

import shutil

import pytest

from tests.house import copied_to, edit, run_in

MODEL = '''"""Tinted pane: a sheet that takes a share of the light and bends none."""

from typing import ClassVar, Literal

from pydantic import Field

from photonsim.scene.quantities import Share
from photonsim.scene.sheet import Sheet


class TintedPane(Sheet):
    """A sheet of coloured film."""

    words: ClassVar[str] = "tinted pane"

    kind: Literal["tinted_pane"] = Field(default="tinted_pane", description="the kind of part")
    passed: Share = Field(description="the share of the light that passes")
'''
CROSS = '''"""Tinted pane: a share of the light passes as it came."""

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.photon import GOES_ON, absorbed, drawn
from photonsim.kernel.random import next_state, uniform_as


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that meets the pane."""
    photon = drawn(photon, next_state(photon.rng))
    if uniform_as(photon.u, photon.rng) < program.layer_real[layer, codes.PANE_PASSED]:
        return GOES_ON, photon
    return absorbed(layer, photon)
'''
CODES = "TINTED_PANE = 32\nPANE_PASSED = 2\n\n# In the order"
ENTRY = """PARTS = (
    Kind(TINTED_PANE, "tinted_pane", (ABSORBS,), {"passed": PANE_PASSED}),
"""
LAMP = """
[housing]
width_mm = 40.0
height_mm = 40.0
depth_mm = 12.0
[emitters.source]
width_mm = 20.0
height_mm = 20.0
flux_lm = 1.0
[train.pane]
kind = "tinted_pane"
z_mm = 9.999
passed = {passed}
[train.panel]
kind = "panel"
z_mm = 10.0
columns = 10
rows = 10
active_width_mm = 20.0
active_height_mm = 20.0
outer_width_mm = 20.0
outer_height_mm = 20.0
[train.stop]
kind = "aperture_stop"
z_mm = 20.0
diameter_mm = 30.0
{strips}
"""
STRIPS = "[train.pane.strips]\nacross = 'x'\ncovered_mm = [[-20.0, 0.0]]"
USE = f'''
from photonsim import trace
from photonsim.figures.lamp.side_view import draw_side_view
from photonsim.scene import parse_scene

LAMP = """{LAMP}"""
clear, half, dark = (
    parse_scene(LAMP.format(passed=passed, strips=strips))
    for passed, strips in ((1.0, ""), (0.0, """{STRIPS}"""), (0.0, ""))
)
found = [trace(clear, photons=20_000)]
found += [trace(scene, photons=20_000, guide=found[0]) for scene in (half, dark)]
columns = [result.panel_counts("incident").sum(axis=0) for result in found]
assert (columns[0] > 0).all()
assert not columns[1][:5].any() and (columns[1][5:] == columns[0][5:]).all()
assert not columns[2].any()
assert [fate.photons for fate in found[2].fates if fate.name == "absorbed by pane"][0] > 0
legend = draw_side_view(half).legends[0]
assert "tinted pane" in [text.get_text() for text in legend.get_texts()]
'''


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """A copy of package and tests with one more kind of sheet."""
    house = copied_to(tmp_path_factory.mktemp("house"))
    (house / "photonsim/scene/tinted_pane.py").write_text(MODEL)
    (house / "photonsim/kernel/tinted_pane.py").write_text(CROSS)
    edit(house / "photonsim/kernel/codes.py", ("# In the order", CODES), ("PARTS = (\n", ENTRY))
    return house


def test_a_new_sheet_is_traced_cut_to_strips_and_drawn(house):
    run_in(house, "-c", USE)


def test_a_new_sheet_is_described(house):
    scene = house / "lamp.toml"
    scene.write_text(LAMP.format(passed=0.5, strips=STRIPS))
    told = run_in(house, "-m", "photonsim", "check", str(scene), "--verbose", "--no-trace")
    row = next(line for line in told.splitlines() if "tinted pane" in line)
    assert "passed = 0.5, 1 strip across x" in " ".join(row.split())


def test_a_new_sheet_is_held_to_the_contract(house):
    told = run_in(house, "-m", "pytest", "tests/contract", "-q", "-k", "tinted_pane")
    assert "6 passed" in told


@pytest.mark.parametrize("room", ["scene", "kernel"])
def test_a_registered_kind_without_a_file_stops_the_program(house, tmp_path, room):
    shutil.copytree(house / "photonsim", tmp_path / "photonsim")
    (tmp_path / f"photonsim/{room}/tinted_pane.py").unlink()
    with pytest.raises(AssertionError, match=f"No module named 'photonsim.{room}.tinted_pane'"):
        run_in(tmp_path, "-c", "import photonsim.kernel.history, photonsim.scene")


def test_a_kind_that_is_not_registered_is_no_kind(house, tmp_path):
    shutil.copytree(house / "photonsim", tmp_path / "photonsim")
    edit(tmp_path / "photonsim/kernel/codes.py", (ENTRY, "PARTS = (\n"))
    (tmp_path / "lamp.toml").write_text(LAMP.format(passed=0.5, strips=""))
    with pytest.raises(AssertionError, match='"tinted_pane": must be one of'):
        run_in(tmp_path, "-m", "photonsim", "check", "lamp.toml", "--no-trace")
