"""What makers tell each other about objectives and lamps, shown on scenes. Common practice."""

import pytest

from photonsim.engine import trace
from photonsim.results import screen_of
from photonsim.results.picture.zones import zones_of
from photonsim.scene import parse_scene
from photonsim.summary.brightness import brightness_of
from tests.shipped import SCENES, scene


def surely(estimate, side):
    """The limit of an estimate to one side, three standard errors off."""
    return estimate.value + 3.0 * side * estimate.error


def test_a_magnifier_warps_where_two_lenses_about_the_stop_do_not():
    """A lens far from the stop warps; with a like one on the other side it is put right again."""
    far = scene("g", stop="z_mm = 230.0 => z_mm = 190.0")
    views = [screen_of(trace(lamp, photons=20_000)) for lamp in (far, scene("g"), scene("d"))]
    warped, beside, straight = (abs(view.distortion(view.corner_mm)) for view in views)
    assert warped > 0.05, "seen at once on a straight edge"
    # With the stop beside it, a single lens hardly warps: what stands in the shipped scene.
    assert 0.003 < beside < 0.005
    assert straight < 0.001


def test_an_anastigmat_is_sharp_to_the_corners_where_a_magnifier_is_not():
    simple, fine = (trace(scene(name), photons=400_000) for name in ("g", "h"))
    assert simple.estimate("blur").value > 5.0 * fine.estimate("blur").value
    assert fine.estimate("blur_corner").value < 1.0


def lamp_of(half_angle, flux_lm=900.0):
    """The optics of the split-film scene, focused for the middle, over an even panel-sized lamp."""
    text = next(path for path in SCENES if path.stem.startswith("d_")).read_text("utf-8")
    housing, train = text[: text.index("[emitters.")], text[text.index("[train.panel]") :]
    train = train.partition("[supply]")[0].replace("distance_mm = 2810.0\n", "")
    face = (
        "[emitters.face]\nwidth_mm = 100.0\nheight_mm = 60.0\nz_mm = 40.0\n"
        f"flux_lm = {flux_lm}\nhalf_angle_deg = {half_angle}\n\n"
    )
    return parse_scene(housing + face + train)


@pytest.fixture(scope="module")
def narrowed():
    """The same optics under lamps of 60, 10 and 2 degrees half intensity; their zones by name."""
    photons = {60.0: 2_000_000, 10.0: 150_000, 2.0: 60_000}
    found = {}
    for half_angle, count in photons.items():
        view = screen_of(trace(lamp_of(half_angle), photons=count, seed=1))
        found[half_angle] = {zone.name: zone for zone in zones_of(view)}
    return found


def test_a_wide_lamp_bleeds_towards_the_edges_while_the_middle_is_sharp(narrowed):
    wide = narrowed[60.0]
    assert wide["middle"].blur.value < 1.5, "sharp to a pixel and a half"
    assert wide["left and right edge"].blur.value > 4.0 * wide["middle"].blur.value
    assert wide["corners"].blur.value > 5.0 * wide["middle"].blur.value


def test_more_parallel_light_is_sharper_at_the_edge(narrowed):
    """Same optics, the lamp narrowed to 2 degrees: half the blur at edge and corner."""
    wide, narrow = narrowed[60.0], narrowed[2.0]
    for name in ("left and right edge", "corners"):
        assert narrow[name].blur.value < 0.6 * wide[name].blur.value
        assert narrow[name].filled.value < 0.4 < 0.9 < wide[name].filled.value


def test_narrowing_a_lamp_sharpens_nothing_while_it_still_fills_the_stop(narrowed):
    """What the lore leaves out: the stop here takes 6.3 degrees either way, whatever the lamp sends
    beyond. At 10 degrees twenty times the light comes through, and the same blur."""
    wide, narrow = narrowed[60.0], narrowed[10.0]
    for name in wide:
        assert narrow[name].blur.value > 0.9 * wide[name].blur.value
        assert narrow[name].filled.value > 0.9


def test_ten_watts_are_watchable_at_a_metre_and_a_half_where_half_a_watt_is_not():
    """A panel-sized lamp of nine watts (100 lm each) in a dark room. Watchable is taken as the 7:1
    of passive viewing (ANSI/INFOCOMM 3M-2011, from memory), dark as the 0.1 lx of a curtained room.
    """
    strong = scene("d")
    assert strong.flux_lm / 100.0 == pytest.approx(9.0)
    assert strong.screen.room_lux == 0.1
    weak = scene("d", lamp=f"flux_lm = 20.0 => flux_lm = {20.0 * 0.5 / 9.0!r}")
    bright, dim = (brightness_of(trace(lamp, photons=400_000)) for lamp in (strong, weak))
    assert bright.width_mm == pytest.approx(1500.0, rel=0.02)
    assert surely(bright.room_contrast, -1) > 7.0
    assert surely(dim.room_contrast, 1) < 1.6
    # Half a lux, as from a hall's emergency lamps (EN 1838), is too much for nine watts as well:
    # they need a dark room, and stay far below the 48 cd/m² of a cinema.
    hall = scene("d", room="room_lux = 0.1 => room_lux = 0.5")
    assert surely(brightness_of(trace(hall, photons=400_000)).room_contrast, 1) < 3.0
    assert surely(bright.luminance_cd_m2, 1) < 0.01 * 48.0
    # A point lamp with condensers, of the same nine watts, is for lighter rooms.
    assert brightness_of(trace(scene("f"), photons=100_000)).mean_lux.value > 5.0
