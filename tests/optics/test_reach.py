"""Whether the lamp reaches the picture's edges: by explicit geometry, and as traced."""

import math
import re
import tomllib

import pytest

from photonsim import trace
from photonsim.optics.reach import RIM, edges_of
from photonsim.results.merit import EDGE_STRIPS, rim_over_mean
from photonsim.scene import load_scene, parse_scene, scene_from_dict
from photonsim.warnings.about import warnings_about
from photonsim.warnings.of_edges import DARK
from tests.shipped import APART, SCENES

D_SCENE = next(path for path in SCENES if path.stem == "d_split_film")
PHOTONS = 1 << 21
# How far the geometry may be from the traced light: it leaves out what walls and films do beside.
ROUGH = 0.12


def edges_as_traced(scene):
    """The light of the picture's edges over its mean, by the name of each."""
    result = trace(scene, photons=PHOTONS)
    rim = rim_over_mean(result.samples.total, result.optics)[0]
    return dict(zip(("left", "right", "bottom", "top"), rim[:4], strict=True))


def test_an_edge_is_as_wide_to_the_geometry_as_to_the_figure():
    assert RIM * EDGE_STRIPS == 1.0


def bare(half_width, stop_mm=1.0, x_mm=0.0):
    """A face 40 mm before a panel of 40 x 40 mm, a stop 200 mm behind it, no lens anywhere."""
    return parse_scene(
        f"""
[housing]
width_mm = 200.0
height_mm = 200.0
depth_mm = 40.0
[housing.base]
reflectance = 0.0
[emitters.face]
shape = "rectangle"
width_mm = {2.0 * half_width}
height_mm = 100.0
x_mm = {x_mm}
z_mm = 1.0
flux_lm = 100.0
[train.panel]
kind = "panel"
z_mm = 41.0
columns = 90
rows = 90
active_width_mm = 40.0
active_height_mm = 40.0
outer_width_mm = 50.0
outer_height_mm = 50.0
[train.stop]
kind = "aperture_stop"
z_mm = 241.0
diameter_mm = {stop_mm}
""",
        "bare",
    )


def test_rays_look_past_a_face_that_is_too_small():
    """From a small stop through x one looks at x (1 + 40/200): 24 mm out for the edge at 20.

    The edge of a face that ends at 22 mm is dark, 2 mm beyond it and 0.1 for the stop's radius; at
    30 mm it is lit like the rest.
    """
    dark, lit = ({edge.name: edge for edge in edges_of(bare(half))} for half in (22.0, 30.0))
    assert dark["left"].light == dark["right"].light == 0.0
    assert dark["right"].beyond_mm == pytest.approx(2.1, abs=0.06)
    assert lit["left"].lit == pytest.approx(1.0, abs=1e-9)
    assert lit["left"].beyond_mm == 0.0
    assert dark["top"].lit == pytest.approx(1.0, abs=0.02)
    # cos**4 at the edge, over its mean over the panel.
    near = [math.cos(math.atan(math.hypot(x, y) / 200.0)) ** 4 for x in (19.5, 0) for y in (0, 10)]
    assert near[0] < lit["left"].light < 1.0


def test_a_face_that_ends_where_the_edge_looks_lights_half():
    """The middle of the edge's strip looks at 20 (1 - RIM) x 1.2 mm; a stop of 20 mm gives every
    point a cone of 20 x 40 / 200 = 4 mm across, wider than the strip's 1.2 mm: half is lit."""
    edge = 20.0 * (1.0 - RIM) * 1.2
    found = {one.name: one for one in edges_of(bare(edge, stop_mm=20.0))}
    assert found["left"].lit == pytest.approx(0.5, abs=0.04)


def test_a_lamp_to_one_side_leaves_the_other_dark():
    found = {edge.name: edge for edge in edges_of(bare(20.0, x_mm=6.0))}
    assert found["left"].light == 0.0
    assert found["right"].lit > 1.0
    told = [str(doubt) for doubt in warnings_about(bare(20.0, x_mm=6.0))]
    (doubt,) = (one for one in told if "mean light" in one)
    assert "the picture's left edge gets next to none of its mean light" in doubt
    assert doubt.startswith("emitters.face.width_mm = 40: ")


IDEAL = {"kind": "absorbing_polariser", "pass_transmittance": 1.0, "block_transmittance": 0.0}
TYPICAL = {"kind": "absorbing_polariser"}
DULL = {
    "kind": "diffuser",
    "transmittance": 0.9,
    "reflectance": 0.0,
    "half_angle_deg": 1.0,
    "depolarised_share": 1.0,
}


@pytest.mark.parametrize(
    ("sheets", "axis_deg", "passed"),
    [
        # Malus: cos² of each angle; without an axis of the panel a sheet takes half.
        ([(IDEAL, 0.0)], 60.0, 0.25),
        ([(IDEAL, 0.0)], None, 0.5),
        ([(IDEAL, 0.0), (IDEAL, 30.0)], 60.0, 0.75**2),
        ([(IDEAL, 0.0), (IDEAL, 30.0)], None, 0.5 * 0.75),
        ([(IDEAL, 0.0), (IDEAL, 90.0), (IDEAL, 45.0)], None, 0.0),
        ([(IDEAL, 0.0), (IDEAL, 45.0), (IDEAL, 90.0)], None, 0.125),
        # A sheet of 0.84 along and 0.0005 across, 60° off: 0.84/4 + 0.0005 x 3/4.
        ([(TYPICAL, 10.0)], -50.0, 0.210375),
        # What a sheet has scattered is not polarised: half of it lies along any axis.
        ([(IDEAL, 0.0), (DULL, None)], 90.0, 0.5),
    ],
)
def test_polarisers_dim_what_they_cover(sheets, axis_deg, passed):
    """Sheets over the middle half of an evenly lit panel: its edge, beside them, is 1 / the mean.

    They lie so near under the panel that no ray to the small stop crosses their rims beside it.
    """
    scene = bare(50.0)
    data = tomllib.loads(scene.text)
    panel, stop = data["train"]["panel"], data["train"]["stop"]
    if axis_deg is not None:
        panel["polariser_deg"] = axis_deg
    train = {}
    for place, (sheet, pass_deg) in enumerate(sheets):
        turned = {} if pass_deg is None else {"pass_deg": pass_deg}
        size = {"width_mm": 20.0, "height_mm": 190.0, "thickness_mm": 0.0}
        train[f"sheet_{place}"] = {"z_mm": 40.6 + 0.1 * place, **size, **sheet, **turned}
    data["train"] = {**train, "panel": panel, "stop": stop}
    found = {edge.name: edge for edge in edges_of(scene_from_dict(data, "covered"))}
    # 96 + 192 points tell a mean over two halves to a percent.
    assert found["left"].lit == pytest.approx(2.0 / (1.0 + passed), rel=0.02)
    assert found["right"].lit == pytest.approx(2.0 / (1.0 + passed), rel=0.02)


@pytest.mark.parametrize(("sheet", "least"), [(True, 0.2), (False, 0.1)])
def test_what_sheets_and_walls_turn_back_lights_the_base(sheet, least):
    """White bars: what polariser and walls turn back makes the base glow, and with it the edges."""
    bars = load_scene(next(path for path in APART if path.stem == "bars"))
    scene = bars if sheet else bars.variant("alone")
    traced = edges_as_traced(scene)
    for edge in edges_of(scene):
        assert edge.light == pytest.approx(traced[edge.name], abs=ROUGH), edge
        assert edge.light > least, edge


@pytest.mark.parametrize("stack", ["alone", "polariser", "film", "all"])
def test_no_sheet_lights_edges_that_the_plate_does_not_reach(stack):
    """A plate 5.5 and 3 mm short of the picture on each side, its sheets 0.3 mm and more above it:
    what they turn back falls on the plate again."""
    plate = load_scene(next(path for path in APART if path.stem == "plate")).variant(stack)
    size = {"train.plate.width_mm": 84.0, "train.plate.height_mm": 48.0}
    scene = plate.with_numbers({**size, "emitters.row.columns": 12})
    traced = edges_as_traced(scene)
    for edge in edges_of(scene):
        assert edge.light == pytest.approx(traced[edge.name], abs=ROUGH), edge
    told = {doubt.path: str(doubt) for doubt in warnings_about(scene)}
    for path in size:
        assert "edges get next to none of its mean light" in told[path]
        assert "a plate that reaches" in told[path]


@pytest.mark.parametrize(
    ("half_width", "walls", "seen"),
    [
        (22.0, {"reflectance": 0.9, "specular_share": 1.0}, 0.9),
        (18.0, {"reflectance": 0.9, "specular_share": 1.0}, 0.0),
        # Half of what a wall faces is the lit base (of a strip and an endless plane at a right
        # angle to it: J. R. Howell, Catalog of Radiation Heat Transfer Configuration Factors; from
        # memory).
        (22.0, {"reflectance": 0.8}, 0.4),
        (22.0, {"reflectance": 0.8, "specular_share": 0.5}, 0.6),
    ],
)
def test_walls_show_the_lamp_or_glow_by_it(half_width, walls, seen):
    """Edges look at 22.5 to 24 mm, past a wall at 22: at the image of 20 to 21.5 mm. So do the
    outer 1.67 mm of the picture's 20 on each side."""
    box = {"housing.width_mm": 44.0, "housing.height_mm": 100.0, "housing.walls": walls}
    found = {edge.name: edge for edge in edges_of(bare(half_width).with_numbers(box))}
    mean = 1.0 - 1.67 / 20.0 * (1.0 - seen) if half_width == 22.0 else 1.0
    assert found["left"].lit == pytest.approx(seen / mean, rel=0.03, abs=1e-9)


def test_white_walls_of_a_deep_box_are_dimmer_than_the_plate_in_it():
    """No field lens: at the picture's left and right edges the stop sees the walls."""
    plate = load_scene(next(path for path in APART if path.stem == "plate")).variant("alone")
    places = {"panel": 40.0, "rear_lens": 203.0, "stop": 225.0, "front_lens": 241.0}
    deep = {f"train.{name}.z_mm": z for name, z in places.items()}
    scene = plate.with_numbers({**deep, "train.field_lens": False, "housing.depth_mm": 40.0})
    traced = edges_as_traced(scene)
    for edge in edges_of(scene):
        assert edge.light == pytest.approx(traced[edge.name], abs=ROUGH), edge


def changed(tables):
    data = tomllib.loads(D_SCENE.read_text("utf-8"))
    for path, value in tables.items():
        *steps, key = path.split(".")
        table = data
        for step in steps:
            table = table[step]
        table[key] = value
    return scene_from_dict(data, "changed")


NARROW = {
    "train.panel.active_width_mm": 77.5,
    "train.panel.columns": 392,
    "emitters.bars.columns": 12,
    "emitters.bars.pitch_x_mm": 69.2 / 11,
}


def test_72_mm_of_leds_behind_a_panel_of_77_5_mm_are_told():
    scene = changed(NARROW)
    told = [str(doubt) for doubt in warnings_about(scene)]
    assert any("left and right edges get about 0.6 of its mean light" in one for one in told)
    traced = edges_as_traced(scene)
    found = {edge.name: edge.light for edge in edges_of(scene)}
    for side in ("left", "right"):
        assert traced[side] < DARK
        assert found[side] == pytest.approx(traced[side], abs=ROUGH)


def test_a_lamp_as_wide_as_the_light_is_not_doubted():
    scene = changed({"emitters.bars.columns": 18})
    assert warnings_about(scene) == []
    assert min(edges_as_traced(scene)[side] for side in ("left", "right")) > 0.8


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_what_is_told_of_shipped_lamps_is_true(path):
    """Each of them that is even at the rim is left alone; where the geometry claims to know, the
    traced light agrees."""
    scene = load_scene(path)
    traced = edges_as_traced(scene)
    told = "\n".join(str(doubt) for doubt in warnings_about(scene))
    for edge in edges_of(scene):
        is_told = re.search(rf"\b{edge.name}\b.* of its mean light", told) is not None
        if is_told:
            assert traced[edge.name] < DARK, edge
        if not edge.is_guess:
            assert edge.light == pytest.approx(traced[edge.name], abs=ROUGH), edge
            assert is_told or traced[edge.name] > 0.5, edge


@pytest.mark.parametrize(
    "sheet",
    [
        {"z_mm": 6.0, "opal": True},
        {"z_mm": 12.0, "haze": 0.9},
        {"z_mm": 30.0, "haze": 0.9, "half_angle_deg": 20.0},
    ],
    ids=["opal", "haze", "lobe"],
)
def test_diffusers_turn_the_rays(sheet):
    data = tomllib.loads(D_SCENE.read_text("utf-8"))
    mist = {"kind": "diffuser", "transmittance": 0.6, "reflectance": 0.35, **sheet}
    data["train"] = {"mist": mist, **{k: v for k, v in data["train"].items() if k != "film"}}
    scene = scene_from_dict(data, "mist")
    traced = edges_as_traced(scene)
    for edge in edges_of(scene):
        assert edge.light == pytest.approx(traced[edge.name], abs=ROUGH), edge
