"""What a scene works out from its figures, against hand-made sums and published values."""

import math
from pathlib import Path

import pytest

from photonsim.scene import (
    Emitter,
    Housing,
    Light,
    Scene,
    SceneError,
    Strips,
    load_scene,
    parse_scene,
)

SCENE = load_scene(Path(__file__).parent / "backdrop.toml")


def test_scene_knows_its_parts() -> None:
    assert SCENE.panel is SCENE.train["panel"]
    assert (SCENE.panel_name, SCENE.stop_name) == ("panel", "stop")
    assert SCENE.stop.diameter_mm == 60.0
    assert SCENE.flux_lm == pytest.approx(12 * 3 * 20.0)


def test_sheet_without_a_size_fills_the_opening() -> None:
    grown = 2 * 20.0 * math.tan(math.radians(2.0))
    assert SCENE.part_size_mm("film") == pytest.approx((110.0 + grown, 68.0 + grown))
    assert SCENE.part_size_mm("panel") == (104.0, 64.0)
    assert SCENE.part_size_mm("stop") == (60.0, 60.0)


def test_opening_follows_the_taper_from_the_base() -> None:
    walls = {"taper_deg": 45.0, "from_mm": 10.0}
    housing = Housing.model_validate(
        {"width_mm": 100, "height_mm": 60, "depth_mm": 40, "walls": walls}
    )
    assert housing.opening_mm(0.0) == (100.0, 60.0)
    assert housing.opening_mm(40.0) == pytest.approx((180.0, 140.0))
    assert housing.wall_range_mm == (10.0, 40.0)
    with pytest.raises(ValueError, match="outside the housing"):
        housing.opening_mm(40.1)


def test_housing_without_walls_is_straight_and_open() -> None:
    housing = Housing(width_mm=100, height_mm=60, depth_mm=40)
    assert housing.opening_mm(40.0) == (100.0, 60.0)
    assert housing.wall_range_mm is None
    assert housing.base.reflectance == 0.05


def test_centres_run_row_by_row_about_the_middle() -> None:
    group = Emitter(
        shape="disc",
        diameter_mm=1,
        x_mm=5,
        columns=3,
        rows=2,
        pitch_x_mm=2,
        pitch_y_mm=4,
        flux_lm=1,
    )
    assert group.centres_mm() == [(3, -2), (5, -2), (7, -2), (3, 2), (5, 2), (7, 2)]
    assert group.count == 6


@pytest.mark.parametrize(
    ("half_angle_deg", "exponent"),
    [
        # cos 60° = 1/2: the Lambertian law m = 1 by definition.
        (60.0, 1.0),
        # (1/√2)² = 1/2.
        (45.0, 2.0),
        # (√3/2)^m = 1/2.
        (30.0, math.log(2.0) / math.log(2.0 / math.sqrt(3.0))),
    ],
)
def test_exponent_from_half_angle(half_angle_deg: float, exponent: float) -> None:
    """Moreno et al., Appl. Opt. 45, 2265 (2006): m = -ln 2 / ln cos(half angle); from memory."""
    group = Emitter(width_mm=1, height_mm=1, flux_lm=1, half_angle_deg=half_angle_deg)
    assert group.exponent == pytest.approx(exponent)


def test_exponent_as_written_and_by_default() -> None:
    assert Emitter(width_mm=1, height_mm=1, flux_lm=1, cosine_power=0.0).exponent == 0.0
    assert Emitter(width_mm=1, height_mm=1, flux_lm=1).exponent == 1.0


def test_listed_strips_are_sorted_and_clipped() -> None:
    strips = Strips(across="x", covered_mm=((10.0, 60.0), (-40.0, -30.0), (-70.0, -60.0)))
    assert strips.intervals_mm(-50.0, 50.0) == [(-40.0, -30.0), (10.0, 50.0)]


def test_equal_strips_are_clipped_at_both_rims() -> None:
    strips = Strips(across="y", width_mm=4.0, pitch_mm=10.0, offset_mm=1.0)
    assert strips.intervals_mm(-10.0, 10.0) == [(-10.0, -7.0), (-1.0, 3.0), (9.0, 10.0)]


def test_offset_of_a_whole_pitch_changes_nothing() -> None:
    near, far = (
        Strips(across="x", width_mm=3.0, pitch_mm=8.0, offset_mm=offset) for offset in (0.5, 48.5)
    )
    pairs = zip(near.intervals_mm(-55.0, 55.0), far.intervals_mm(-55.0, 55.0), strict=True)
    assert all(one == pytest.approx(other) for one, other in pairs)


def test_shares_are_normalised() -> None:
    light = Light(wavelengths_nm=(450.0, 550.0, 620.0), shares=(1.0, 2.0, 1.0))
    assert light.normalised_shares == (0.25, 0.5, 0.25)
    assert Light(wavelengths_nm=(450.0, 550.0)).normalised_shares == (0.5, 0.5)
    assert SCENE.light.wavelengths_nm == (550.0,)


def test_touching_emitters_and_sheets_are_no_overlap() -> None:
    text = SCENE.text.replace("pitch_x_mm = 8.0", "pitch_x_mm = 1.2")
    text = text.replace("z_mm = 20.0", "z_mm = 14.3")  # the diffuser at 14.0 is 0.3 mm thick
    assert parse_scene(text).train["film"].z_mm == 14.3


def test_interleaved_groups_in_one_plane_are_no_overlap() -> None:
    second = """
[emitters.amber]
shape = "disc"
diameter_mm = 3.0
x_mm = 4.0
y_mm = {y}
z_mm = 1.0
rows = 2
pitch_y_mm = 20.0
columns = 11
pitch_x_mm = 8.0
flux_lm = 5.0
"""
    # The bars' columns stand at ±4, ±12 ... ±44 mm and the discs' at -36, -28 ... 44 mm: the same
    # columns. The bars reach from y = -1.4 to 1.4 mm about 0 and ±20 mm, the discs, 1.5 mm in
    # radius, stand at y ± 10 mm: midway between the rows they are free, 8 mm higher they are not.
    assert parse_scene(SCENE.text + second.format(y=0.0)).emitters["amber"].count == 22
    with pytest.raises(SceneError, match="amber: overlaps the emitters of bars"):
        parse_scene(SCENE.text + second.format(y=8.0))


def test_part_on_the_rim_may_overhang_the_housing() -> None:
    text = SCENE.text.replace("z_mm = 60.0", "z_mm = 45.0")
    text = text.replace("outer_height_mm = 64.0", "outer_height_mm = 90.0")
    assert parse_scene(text).panel.outer_height_mm == 90.0


def test_largest_arrays_are_checked_in_a_moment() -> None:
    """A hundred groups of 10 000 emitters: all pairs of emitters would take days."""
    emitters = {
        f"row_{place}": Emitter(
            width_mm=1e-4,
            height_mm=1e-4,
            columns=10_000,
            pitch_x_mm=1e-4,
            y_mm=0.2 * place,
            flux_lm=1,
        )
        for place in range(100)
    }
    scene = Scene(housing=SCENE.housing, emitters=emitters, train=SCENE.train)
    assert scene.flux_lm == 1_000_000.0
