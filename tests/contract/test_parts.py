"""What every kind of part in the registry must keep: energy, reciprocity, finite numbers.

A part of a new kind is found here by itself, with any figures within the ranges of its model;
tests/strategies.py may say more sharply what to ask of it.
"""

import math

import numpy as np
import pytest
from hypothesis import HealthCheck, find, given, settings
from hypothesis import strategies as st

from photonsim.kernel import codes
from photonsim.kernel.photon import GOES_ON
from photonsim.program import build_program, fates_of
from photonsim.program.layers import layers_of
from photonsim.scene import scene_from_dict
from photonsim.scene.train import PART_CLASSES
from tests.chance import assert_proportion, assert_symmetric
from tests.meeting import sent, sent_polarised
from tests.ranges import is_part, middle_of
from tests.strategies import PARTS, anything_of

KINDS = sorted(PART_CLASSES)
# What has one face on one side and another on the other may keep more of the light from one side.
TWO_FACED = {
    "real_lens",
    "fresnel_lens",
    "absorbing_polariser",
    "reflective_polariser",
    "light_plate",
}
LEAN = settings(
    max_examples=12,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
# Places in mm: the axis, beside it, near a rim, beyond everything.
PLACES = [(0.0, 0.0), (1.7, -2.3), (-20.0, 11.0), (500.0, 500.0)]
GRAZING = [1e-300, 1e-16, 1e-9, 1e-4]
# Figures in the middle of their ranges, with all that a part can have: for reciprocity. A part of a
# new kind is taken with the middle of every range that its model gives.
TYPICAL = {
    "diffuser": {
        "transmittance": 0.6,
        "reflectance": 0.3,
        "haze": 0.97,
        "depolarised_share": 0.3,
    },
    "prism_film": {"index": 1.586, "along_deg": 30.0, "flat_tip_share": 0.1},
    "clear_plate": {"index": 1.5, "absorption_per_pass": 0.1},
    "panel": {
        "columns": 9,
        "rows": 9,
        "active_width_mm": 50.0,
        "active_height_mm": 40.0,
        "outer_width_mm": 50.0,
        "outer_height_mm": 40.0,
        "haze": 0.95,
        "relative_transmittance": {
            "angle_deg": [0.0, 30.0, 60.0, 90.0],
            "relative": [1.0, 0.8, 0.3, 0.0],
        },
    },
    "ideal_lens": {"focal_mm": 60.0, "diameter_mm": 50.0, "transmittance": 0.8},
    "real_lens": {
        "diameter_mm": 30.0,
        "thickness_mm": 8.0,
        "radius_lamp_mm": 40.0,
        "radius_screen_mm": -60.0,
        "index": 1.6,
    },
    "fresnel_lens": {
        "focal_mm": 20.0,
        "diameter_mm": 50.0,
        "index": 1.5,
        "draft_deg": 6.0,
        "rounded_tip_share": 0.05,
    },
    "aperture_stop": {"diameter_mm": 30.0},
    "light_plate": {
        "index": 1.49,
        "thickness_mm": 6.0,
        "absorption_per_mm": 0.002,
        "dot_share": 0.4,
        "dot_drain_mm": 30.0,
        "dot_reflectance": 0.9,
        "edges": "white",
    },
}
# Other forms of a kind, held to the same laws.
SQUARE_SHEET = {"kind": "fresnel_lens", "width_mm": 50.0, "height_mm": 40.0, "focal_mm": 20.0}
SQUARE_SHEET |= {"index": 1.5, "draft_deg": 6.0, "rounded_tip_share": 0.05}
TYPICAL |= {kind: middle_of(PART_CLASSES[kind]) for kind in KINDS if kind not in TYPICAL}
RAYS = 300_000
# Direction cosines in 5 x 5 cells on either side.
CELLS = 5


def lamp_with(part):
    """The scene, the program and the layers (first, last) of a lamp with one part, at 20 mm."""
    train = {
        "panel": TYPICAL["panel"] | {"kind": "panel"},
        "aperture_stop": {"kind": "aperture_stop"},
    }
    train["aperture_stop"] |= TYPICAL["aperture_stop"]
    name = part["kind"] if part["kind"] in train else "part"
    train = {name: part} | {key: table for key, table in train.items() if key != name}
    if name == "aperture_stop":
        train = {"panel": train["panel"], name: part}
    for k, key in enumerate(train):
        beyond = 100.0 + 10.0 * k
        z_mm = 20.0 if key == name else beyond if name != "aperture_stop" else 10.0
        train[key] = train[key] | {"z_mm": z_mm}
        if key == name and "strips" in part:
            del train[key]["strips"]
        if key == "part" and "diameter_mm" not in part:
            train[key] |= {"width_mm": 50.0, "height_mm": 40.0}
    scene = scene_from_dict(
        {
            "housing": {"width_mm": 300.0, "height_mm": 300.0, "depth_mm": 15.0},
            "emitters": {"lamp": {"width_mm": 1.0, "height_mm": 1.0, "flux_lm": 1.0}},
            "train": train,
        }
    )
    numbers = [k for k, layer in enumerate(layers_of(scene)) if layer.name == name]
    return scene, build_program(scene), (numbers[0], numbers[-1])


def lambertian_from_both_sides(count):
    generator = np.random.default_rng(4)
    radius, turn = np.sqrt(generator.random(count)), 2.0 * np.pi * generator.random(count)
    side = generator.choice([-1.0, 1.0], count)
    return np.stack(
        [radius * np.cos(turn), radius * np.sin(turn), side * np.sqrt(1.0 - radius**2)], axis=1
    )


def even_light_on(kind, program, layers, count):
    """Places and directions of even light from both sides: at one place, but all over thick parts.

    Within a lens light changes its place and medium, so only the whole of it keeps the law. Light
    starts on its faces, evenly over their area and about their normals, whatever the height there.
    """
    rays = lambertian_from_both_sides(count)
    if kind != "real_lens" and layers[0] != layers[1]:
        back = layers[0]
        half = np.array([program.layer_half_x[back], program.layer_half_y[back]])
        across = half * np.random.default_rng(8).uniform(-1.0, 1.0, (count, 2))
        heights = np.where(rays[:, 2] > 0.0, program.layer_z[back], program.layer_z[layers[1]])
        return np.column_stack([across, heights]), rays
    if kind != "real_lens":
        places = np.array([12.0, -8.0, program.layer_z[layers[0]]])
        return np.tile(places, (count, 1)), rays
    lens, generator = TYPICAL[kind], np.random.default_rng(9)
    radii = np.array([lens["radius_lamp_mm"], -lens["radius_screen_mm"]])
    # By height a sphere's area is even (Archimedes): 2 pi R dh.
    sags = radii - np.sqrt(radii**2 - (0.5 * lens["diameter_mm"]) ** 2)
    on = (generator.random(count) * (radii * sags).sum() > (radii * sags)[0]).astype(int)
    sag, turn = sags[on] * generator.random(count), 2.0 * np.pi * generator.random(count)
    off = np.sqrt((2.0 * radii[on] - sag) * sag)
    side = 1.0 - 2.0 * on
    radial = np.stack([np.cos(turn), np.sin(turn), np.zeros(count)], axis=1)
    axial = np.array([0.0, 0.0, 1.0])
    places = off[:, None] * radial
    places[:, 2] = program.layer_z[np.array(layers)[on]] + side * sag
    # Into the glass; the meridian's tangent and the turn about the axis complete the frame.
    normal = -off[:, None] * radial + (side * (radii[on] - sag))[:, None] * axial
    normal /= radii[on][:, None]
    about = np.stack([-np.sin(turn), np.cos(turn), np.zeros(count)], axis=1)
    along = np.cross(about, normal)
    rays = rays[:, :1] * along + rays[:, 1:2] * about + np.abs(rays[:, 2:]) * normal
    # A ray so steep that it comes from behind the face's plane cannot come from another part.
    met = rays[:, 2] * side > 0.0
    return places[met], rays[met]


@pytest.mark.parametrize("kind", KINDS)
def test_a_kind_that_no_list_names_would_be_found(kind):
    """What stands in for the lists by hand makes parts out of nothing but their models."""
    part = PART_CLASSES[kind]
    assert is_part(part, middle_of(part))
    assert find(anything_of(part), lambda plain: True, settings=LEAN)["kind"] == kind


@pytest.mark.parametrize("kind", KINDS)
@given(data=st.data())
@LEAN
def test_light_goes_on_whole_or_has_a_named_fate_whatever_the_figures(kind, data):
    """Energy and finite numbers: zero, extreme and grazing included."""
    scene, program, layers = lamp_with(data.draw(PARTS[kind]))
    named = {fate.code for fate in fates_of(layers_of(scene))} | {GOES_ON}
    rays = [(0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (1.0, 0.0, 1e-9), (0.0, -1.0, -1e-9)]
    for w in GRAZING:
        across = math.sqrt(1.0 - w * w)
        rays += [(across, 0.0, w), (0.0, across, -w), (0.6 * across, -0.8 * across, w)]
    rays = np.concatenate([np.array(rays), lambertian_from_both_sides(300)])
    for place in PLACES:
        height = program.layer_z[layers[0]]
        fates, out = sent(program, layers, np.tile([*place, height], (len(rays), 1)), rays)
        alive = out[fates == GOES_ON]
        assert set(fates.tolist()) <= named
        assert (fates != codes.FATE_GUARD).all()
        assert np.isfinite(out).all()
        assert np.abs((alive**2).sum(axis=1) - 1.0).max(initial=0.0) < 1e-9


THICK = [
    TYPICAL[kind] | {"kind": kind, "thick": True, "thickness_mm": 4.0}
    for kind in ("diffuser", "clear_plate", "prism_film")
]
COATED = TYPICAL["prism_film"] | {"kind": "prism_film", "base_index": 1.8}
FILMS = [
    COATED,
    COATED | {"base_index": 1.3, "absorption_per_pass": 0.05, "ridges": "to_lamp"},
    COATED | {"back_haze": 0.9, "back_half_angle_deg": 20.0},
]
FORMS = [*(TYPICAL[kind] | {"kind": kind} for kind in KINDS), SQUARE_SHEET, *THICK, *FILMS]


def form_name(part):
    """The kind of a form, and what is not as usual."""
    words = part["kind"] + "-square" * (part is SQUARE_SHEET) + "-thick" * part.get("thick", False)
    base = f"-base {part['base_index']}" if "base_index" in part else ""
    return words + base + "-matt" * ("back_haze" in part)


@pytest.mark.parametrize("part", FORMS, ids=form_name)
def test_as_much_goes_from_one_direction_to_another_as_back(part):
    """Helmholtz reciprocity: in even light from both sides the table of joint counts is symmetric.

    An event is filed under the directions it points to seen from the part: where the light came
    from, and where it goes.
    """
    kind = part["kind"]
    _, program, layers = lamp_with(part)
    places, rays = even_light_on(kind, program, layers, RAYS)
    fates, out = sent(program, layers, places, rays)
    alive = fates == GOES_ON
    if not alive.any():
        assert kind == "aperture_stop"
        return
    size = 2 * CELLS * CELLS
    table = np.zeros((size, size))
    np.add.at(table, (cell_of(-rays[alive]), cell_of(out[alive])), 1)
    assert_symmetric(table, what=f"light from direction to direction at a {kind}")


# Six states of whole polarisation, along the axes of Poincare's sphere; going back along itself
# light has the other U, for its p is the opposite one.
SIX_STATES = np.concatenate([np.eye(3), -np.eye(3)])
GONE_BACK = np.array([1.0, -1.0, 1.0])


@pytest.mark.parametrize("part", FORMS, ids=form_name)
def test_as_much_goes_from_state_to_state_as_back(part):
    """Reciprocity of polarised light, M back = D M^T D with D = diag(1, 1, -1, 1).

    As above, with the state in which light came, and one of six by which it is analysed at last
    (check-values-2, section 1d; van de Hulst, ch. 5: from memory). None has more than its light.
    """
    kind, cells = part["kind"], 3
    _, program, layers = lamp_with(part)
    places, rays = even_light_on(kind, program, layers, RAYS)
    generator = np.random.default_rng(6)
    came, analysed = generator.integers(0, 6, (2, len(rays)))
    fates, out, lights = sent_polarised(program, layers, places, rays, SIX_STATES[came])
    assert (lights**2).sum(axis=1).max() < 1.0 + 1e-10
    share = 0.5 + 0.5 * (lights * SIX_STATES[analysed]).sum(axis=1)
    counted = (fates == GOES_ON) & (generator.random(len(rays)) < share)
    if kind == "aperture_stop":
        return
    back = (SIX_STATES * GONE_BACK)[:, None] == SIX_STATES
    back = back.all(axis=2).argmax(axis=1)
    size = 6 * 2 * cells * cells
    table = np.zeros((size, size))
    there = 6 * cell_of(-rays[counted], cells) + back[came[counted]]
    np.add.at(table, (there, 6 * cell_of(out[counted], cells) + analysed[counted]), 1)
    assert_symmetric(table, what=f"light from state to state at a {kind}")


@pytest.mark.parametrize("part", FORMS, ids=form_name)
def test_even_light_passes_as_much_from_either_side(part):
    """Second law: else a part between two bodies of one temperature would heat one of them."""
    kind = part["kind"]
    _, program, layers = lamp_with(part)
    places, rays = even_light_on(kind, program, layers, RAYS)
    fates, out = sent(program, layers, places, rays, seed=3)
    passed = (fates == GOES_ON) & (out[:, 2] * rays[:, 2] > 0.0)
    up = int((passed & (rays[:, 2] > 0.0)).sum())
    assert_proportion(up, int(passed.sum()), 0.5, what=f"upward through a {kind}")


@pytest.mark.parametrize("kind", sorted(set(KINDS) - TWO_FACED))
def test_what_a_part_keeps_it_keeps_from_both_sides(kind):
    """Second law: even light stays even, so each side loses the same share of it."""
    _, program, layers = lamp_with(TYPICAL[kind] | {"kind": kind})
    places, rays = even_light_on(kind, program, layers, RAYS)
    fates, _ = sent(program, layers, places, rays, seed=2)
    lost = [(fates[rays[:, 2] * side > 0.0] != GOES_ON).mean() for side in (1.0, -1.0)]
    assert abs(lost[0] - lost[1]) < 5.0 * math.sqrt(0.5 / RAYS), lost


def cell_of(rays, cells=CELLS):
    places = np.minimum(((rays[:, :2] + 1.0) * 0.5 * cells).astype(int), cells - 1)
    return (places[:, 1] * cells + places[:, 0]) * 2 + (rays[:, 2] > 0.0)
