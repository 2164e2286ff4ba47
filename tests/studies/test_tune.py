"""Searches: a known best is found, twice alike; fronts hold nothing that is beaten."""

from pathlib import Path

import pytest

from photonsim.results import ResultError
from photonsim.scene import load_scene, number_at, parse_scene
from photonsim.studies.effort import Effort
from photonsim.studies.goals import Bound, Goal, Limit, bounds_of, front_of, within
from photonsim.studies.points import Setting
from photonsim.studies.search import Search
from photonsim.studies.tune import tune, winning_text

SCENE = load_scene(Path(__file__).parents[2] / "scenes" / "c_whole_film.toml")
SETTING = Setting(SCENE, Effort(0.05, "near_axis_fraction", 200_000), threads=1)
# Far from the bars the sides swallow the light: the lowest film and the brightest walls win.
BOUNDS = bounds_of(SCENE, [("housing.walls.reflectance", 0.0, 0.9), ("emitters.bars.rows", 1, 3)])


def test_the_brightest_walls_win_and_the_text_keeps_its_comments(tmp_path: Path) -> None:
    search = Search((Goal("incident_fraction", 1),), (), tuple(BOUNDS), trials=14)
    table, tuned = tune(SETTING, search, tmp_path)
    assert tuned is not None
    assert tuned.point["housing.walls.reflectance"] > 0.5
    gain = tuned.gains["incident_fraction"]
    assert gain.value > 10.0 * gain.error
    text = winning_text(SCENE, search, tuned, {})
    assert "# The board behind the bars" in text
    wanted = tuned.point["housing.walls.reflectance"]
    assert number_at(parse_scene(text), "housing.walls.reflectance") == wanted
    # Killed after some trials, it goes on to the same table.
    points = tmp_path / "points.jsonl"
    points.write_bytes(b"".join(points.read_bytes().splitlines(keepends=True)[:9]))
    again, winner = tune(SETTING, search, tmp_path)
    assert again.as_csv() == table.as_csv()
    assert winner == tuned


def test_limits_bind_and_a_search_without_hope_says_so() -> None:
    limit = Limit("incident_fraction", -1, 1.0)
    search = Search((Goal("incident_fraction", 1),), (limit,), tuple(BOUNDS[:1]), trials=3)
    table, tuned = tune(SETTING, search)
    assert tuned is None
    assert not table["within_limits"].values.any()


def test_a_front_holds_nothing_that_is_beaten() -> None:
    goals = (Goal("incident_fraction", 1), Goal("rms_angle_deg", -1))
    search = Search(goals, (), tuple(BOUNDS), trials=14)
    table, tuned = tune(SETTING, search)
    assert tuned is None
    front = table["on_front"].values.astype(bool)
    assert 0 < front.sum() <= 14


def record(light: float, structure: float, error: float = 0.0) -> dict:
    figures = {"collected_lm": [light, 0.0, None], "structure": [structure, error, None]}
    return {"point": {}, "figures": figures, "photons": 1}


def test_fronts_and_limits_by_hand() -> None:
    goals = [Goal("collected_lm", 1), Goal("structure", -1)]
    records = [record(1.0, 0.1), record(2.0, 0.2), record(0.9, 0.15), record(2.0, 0.3)]
    records.append({"point": {}, "impossible": "too long"})
    assert front_of(records, goals, []) == [0, 1]
    limit = Limit("structure", -1, 15.0)
    assert [within(one, [limit]) for one in records] == [True, False, True, False, False]
    # An error that nobody knows is no reserve, but as measured the figure is within.
    unknown = record(1.0, 0.14, error=None)
    assert limit.violation(unknown, 0.0) < 0.0 < limit.violation(unknown)
    # Within by less than one error is not within.
    assert not within(record(1.0, 0.14, error=0.02), [limit])


def test_steps_are_those_of_a_saw() -> None:
    assert Bound("a", 8.0, 20.0, False).rounded(11.3721) == 11.4
    assert Bound("a", 0.0, 0.9, False).rounded(0.4567) == 0.46
    assert Bound("a", 0, 100, False).rounded(45.67) == 46.0
    assert Bound("a", 1, 5, True).rounded(3) == 3


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: Search((), (), tuple(BOUNDS)),
        lambda: Search((Goal("uniformity", 1),), (), ()),
        lambda: Goal("brightness", 1),
        lambda: Bound("a", 2.0, 2.0, False),
    ],
)
def test_what_makes_no_sense_is_refused(wrong) -> None:
    with pytest.raises(ResultError):
        wrong()
