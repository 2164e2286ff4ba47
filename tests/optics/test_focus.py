"""Where the objective must stand: Gaussian optics by hand in five cases, and obstacles.

All by 1/s + 1/s' = 1/f from the principal planes (E. Hecht, Optics, sections 5.2 and 6.1), worked
out beside each case; lensmaker's formula and planes of thick lenses and pairs from the same.
"""

import math

import pytest

from photonsim.optics.focus import (
    defocus_mm,
    least_move_mm,
    move_to_focus,
    moved,
    objective_parts,
    paraxial_blur_px,
)
from photonsim.optics.focus_text import first_order_words, move_words, obstacle
from photonsim.scene import parse_scene
from photonsim.warnings.of_focus import focus_warnings, is_no_picture

PANEL_Z = 40.0


def projector(train: str, screen: str):
    return parse_scene(
        f"""
[housing]
width_mm = 120.0
height_mm = 120.0
depth_mm = {PANEL_Z}
[emitters.lamp]
shape = "disc"
diameter_mm = 20.0
z_mm = 1.0
flux_lm = 90.0
[train.panel]
kind = "panel"
z_mm = {PANEL_Z}
columns = 400
rows = 400
active_width_mm = 40.0
active_height_mm = 40.0
outer_width_mm = 50.0
outer_height_mm = 50.0
{train}
[screen]
{screen}
""",
        "hand",
    )


def thin(name: str, z: float, focal: float) -> str:
    lens = f'kind = "ideal_lens"\nz_mm = {z}\nfocal_mm = {focal}\ndiameter_mm = 60.0'
    return f"[train.{name}]\n{lens}\n"


def stop_at(z: float, diameter: float = 20.0) -> str:
    return f'[train.stop]\nkind = "aperture_stop"\nz_mm = {z}\ndiameter_mm = {diameter}\n'


def test_a_thin_lens():
    """f = 100, 150 from the panel, the screen 400 from the lens: a = 100 x 400 / 300 = 133.33, so
    16.67 nearer. The image lies at 300: its light, 20 wide at the stop on the lens, is a disc of
    20 x 100 / 300 on the screen, 400 / 150 times as large as the panel, whose pixels are 0.1."""
    scene = projector(thin("lens", 190.0, 100.0) + stop_at(190.001), "distance_mm = 399.999")
    assert move_to_focus(scene) == pytest.approx(-50.0 / 3.0, abs=1e-3)
    radius = 0.5 * 20.0 * 100.0 / 300.0 / (400.0 / 150.0)
    assert paraxial_blur_px(scene) == pytest.approx(radius / math.sqrt(2.0) / 0.1, rel=1e-4)
    # A ray of slope u meets the lens at 150 u, heads for 300 behind it and lands at -50 u.
    assert defocus_mm(scene) == pytest.approx(50.0 / (400.0 / 150.0), rel=1e-4)


def test_a_thick_lens():
    """r = 100 and -100, 20 thick, n = 1.5: P = 0.01 - 20 / 1.5 x 0.005**2 = 1 / 103.448, principal
    planes f P2 d / n = 6.8966 inside both faces. 500 behind the second: a = f 500 / (500 - f) =
    130.435, so the face stands at 40 + 130.435 - 6.897 = 163.539; it stood at 170."""
    glass = 'kind = "real_lens"\nindex = 1.5\nthickness_mm = 20.0\ndiameter_mm = 60.0'
    lens = f"[train.lens]\n{glass}\nz_mm = 170.0\nradius_lamp_mm = 100.0\nradius_screen_mm = -100.0"
    scene = projector(f"{lens}\n{stop_at(192.0)}", f"distance_mm = {500.0 - 6.8966 - 2.0}")
    assert move_to_focus(scene) == pytest.approx(163.5387 - 170.0, abs=2e-3)


def test_two_lenses_apart():
    """f1 = 200, f2 = 150, 40 apart: 1/f = 1/200 + 1/150 - 40/30000 = 1/96.7742; H lies f 40 / 150 =
    25.8065 behind the first, H' f 40 / 200 = 19.3548 before the second. The screen 1019.3548
    behind H', 1000 from the second: a = f 1019.3548 / (1019.3548 - f) = 106.9256; the first stands
    25.8065 nearer, at 121.1191. All parts move together: it stood at 100."""
    train = thin("rear", 100.0, 200.0) + stop_at(120.0) + thin("front", 140.0, 150.0)
    scene = projector(train, "distance_mm = 1000.0")
    focal = 30000.0 / 310.0
    wanted = focal * 1019.35484 / (1019.35484 - focal) - 25.80645 + PANEL_Z
    move = move_to_focus(scene)
    assert move == pytest.approx(wanted - 100.0, abs=1e-3)
    assert objective_parts(scene) == ("rear", "stop", "front")
    places = [moved(scene, move).train[name].z_mm for name in ("rear", "stop", "front")]
    assert places == pytest.approx([100.0 + move, 120.0 + move, 140.0 + move])


def test_behind_a_field_lens():
    """The field lens, f = 200 and 10 from the panel, shows it 200 x 10 / 190 = 10.5263 before
    itself. f = 150 and the screen 1650 away: a = 165. The lens stands at 50 - 10.5263 + 165 =
    204.4737; the field lens stays."""
    train = thin("field", 50.0, 200.0) + thin("lens", 230.0, 150.0) + stop_at(231.0)
    scene = projector(train, "distance_mm = 1649.0")
    assert objective_parts(scene) == ("lens", "stop")
    assert move_to_focus(scene) == pytest.approx(204.4737 - 230.0, abs=1e-3)


@pytest.mark.parametrize(
    "screen", ["distance_mm = 1099.0", "picture_width_mm = 400.0"], ids=["distance", "width"]
)
def test_from_a_virtual_image(screen):
    """f = 100, 80 from the panel: no real image, 1/s' = 1/100 - 1/80. The screen 1100 away: a =
    110, magnified 10 times: 30 mm farther from the panel, to z = 150. Told by width, the picture
    of 40 x 10 = 400 mm asks for the same."""
    scene = projector(thin("lens", 120.0, 100.0) + stop_at(120.001, 30.0), screen)
    move = move_to_focus(scene)
    assert move == pytest.approx(30.0, abs=2e-2)
    assert move_words(scene, 30.0) == (
        "move the objective 30 mm farther from the panel (new z_mm: lens 150, stop 150.001)"
    )
    blur = paraxial_blur_px(scene)
    assert is_no_picture(scene, blur)
    (doubt,) = focus_warnings(scene)
    assert str(doubt).startswith("train.lens.z_mm = 120: no picture: the lenses form no real")
    assert "about 30 mm farther from the panel" in str(doubt)
    assert list(focus_warnings(moved(scene, move))) == []


def test_of_two_places_the_nearer():
    """Panel and screen 500 apart, f = 100: the lens images at both a = 138.2 and 361.8, but only
    for a screen that stays; here it moves with the lens and there is one place, a = 125 for 500.
    """
    scene = projector(thin("lens", 240.0, 100.0) + stop_at(240.001), "distance_mm = 499.999")
    assert move_to_focus(scene) == pytest.approx(125.0 - 200.0, abs=1e-3)


@pytest.mark.parametrize(
    ("train", "distance", "words"),
    [
        (stop_at(200.0), 900.0, "no lens at the stop"),
        (thin("lens", 190.0, -100.0) + stop_at(191.0), 900.0, "does not gather light"),
        # 1 / (1/250 - 1/(5 x 250)) = 312.5 is the nearest screen that gives a quarter's size.
        (thin("lens", 190.0, 250.0) + stop_at(190.1), 199.9, "move the screen to 312 mm or more"),
        # a = 100 x 1000 / 900 = 111; the field lens keeps it 140 away.
        (
            thin("field", 180.0, 1.0e5) + thin("lens", 320.0, 100.0) + stop_at(320.1),
            999.9,
            "about 111 mm from the panel, but field keeps it 140 mm away",
        ),
    ],
    ids=["no lens", "diverging", "too near", "in the way"],
)
def test_what_stands_in_the_way(train, distance, words):
    scene = projector(train, f"distance_mm = {distance}")
    assert move_to_focus(scene) is None
    assert words in obstacle(scene)
    assert "cannot help" in first_order_words(scene)


def test_the_objective_stays_behind_what_stands_before_it():
    scene = projector(
        thin("field", 50.0, 200.0) + thin("lens", 230.0, 150.0) + stop_at(231.0),
        "distance_mm = 1649.0",
    )
    assert moved(scene, least_move_mm(scene)).train["lens"].z_mm == pytest.approx(50.1)
