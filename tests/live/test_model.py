"""The model of the page, without HTTP and without a browser: changes, answers, tabs."""

import json
import threading
import time

import pytest

import photonsim
from photonsim.live.design.controls import value_typed
from photonsim.live.light import answers
from photonsim.results import FIGURES, Shown, shown_in
from photonsim.scene.train import PART_CLASSES
from photonsim.studies.comparing.paired import difference
from tests.live.visitor import FIRST, SCENES, Visitor, controls, model_of


def test_every_number_of_the_scene_has_a_control(model):
    page = Visitor(model)
    scene = photonsim.load_scene(SCENES / "a_bars.toml")
    found = controls(page.state)
    numbers = [path for path in photonsim.scene.number_paths(scene) if "[" not in path]
    assert set(numbers) <= set(found)
    for path in numbers:
        one = found[path]
        assert one["value"] == pytest.approx(photonsim.scene.number_at(scene, path))
        assert one["low"] <= one["value"] <= one["high"] and one["step"] > 0.0, path
        assert one["words"], path
    groups = [group["path"] for group in page.state["groups"]]
    assert groups[:2] == ["emitters.bars", "housing"]
    train = [f"train.{name}" for name in scene.train]
    assert [path for path in groups if path.startswith("train.")] == train
    usual = [path for path, one in found.items() if one["is_usual"]]
    assert 8 <= len(usual) <= 25


def test_the_first_answer_is_that_of_trace_to_the_bit(model):
    page = Visitor(model)
    page.do("add", path="train", kind="prism_film")
    number = page.set("train.film.z_mm", "14,0", kind="number")["number"]
    told = page.first_answer(number)
    assert told["photons"] == FIRST
    now = model._tabs[page.tab].history.now
    pinned = photonsim.trace(SCENES / "a_bars.toml", photons=FIRST, seed=answers.SEED)
    # What guides the pinned design guides all beside it.
    result = photonsim.trace(now, photons=FIRST, seed=answers.SEED, guide=pinned)
    assert [row["name"] for row in told["figures"]] == list(shown_in(Shown.TRACE))
    for row in told["figures"]:
        figure = FIGURES[row["name"]]
        assert row["text"] == result.estimate(figure.name).text(figure.scale, figure.unit)
        assert row["pinned"] == pinned.estimate(figure.name).text(figure.scale, figure.unit)
        change = difference(result, pinned, figure.name).text(figure.scale, figure.unit)
        assert row["change"].lstrip("+") in (change, "")
    # Light straight on meets facets of 45° beyond the critical angle, 39° (asin(1 / 1.586)), and
    # turns back to a black base: a whole film costs light near the axis, far beyond luck.
    near = next(row for row in told["figures"] if row["name"] == "near_axis_fraction")
    assert near["worth"] == "real, worse"


def test_finer_answers_follow_while_nobody_moves(model, monkeypatch):
    page = Visitor(model)
    counts = set()
    while len(counts) < 3:
        counts.add(page.wait("answer")["photons"])
    assert counts <= set(answers.COUNTS)
    words = page.wait("verdict")["words"]
    assert list(words) == ["Picture", "Brightness", "Edges"]


def test_a_newer_change_breaks_refinement_off_and_never_a_first_answer(model):
    page = Visitor(model)
    page.first_answer(page.state["number"])
    numbers = [
        page.set("emitters.bars.half_angle_deg", 60 - k, mark="drag")["number"] for k in range(6)
    ]
    told = []
    while not told or told[-1] != numbers[-1]:
        told.append(page.wait("answer", lambda told: told["photons"] == FIRST)["number"])
    assert told == sorted(told)
    # One drag is one step.
    assert page.do("undo")["undo"] == ""
    assert controls(page.do("redo"))["emitters.bars.half_angle_deg"]["value"] == 55.0


def test_what_is_not_allowed_is_told_by_its_path_and_the_last_good_design_stays(model):
    page = Visitor(model)
    number = page.state["number"]
    for path, value in (
        ("emitters.bars.reflectance", 1.5),
        ("train.stop.z_mm", 400.0),
        ("train.panel.columns", 12.5),
        ("housing.width_mm", "wide"),
        ("housing.width_mm", "nan"),
        ("housing.width_mm", "1e999"),
        ("train.nothing.z_mm", 1.0),
        ("not a path", 1.0),
        ("train", False),
    ):
        told = page.set(path, value, mark="drag", kind="number")
        assert told.keys() == {"mistakes"}, path
        assert all(one["words"] for one in told["mistakes"])
    assert page.set("emitters.bars.reflectance", 0.6)["number"] == number + 1
    assert model._tabs[page.tab].history.now.emitters["bars"].reflectance == 0.6


@pytest.mark.parametrize(
    ("typed", "value"),
    [("12,5", 12.5), ("12.5", 12.5), ("1.234,5", 1234.5), ("1,234.5", 1234.5), (" 7 ", 7.0),
     ("\N{MINUS SIGN}3", -3.0), ("2e1", 20.0)],
)  # fmt: skip
def test_numbers_are_read_as_people_type_them(typed, value):
    assert value_typed(typed, "number", "train.film.z_mm") == value


def test_everything_is_undone_and_done_again(model):
    page = Visitor(model)
    before = model._tabs[page.tab].history.now.text
    page.set("emitters.bars.flux_lm", 25)
    page.do("add", path="train", kind="prism_film")
    page.do("add", path="train.film.strips")
    page.do("add", path="train", kind="diffuser")
    page.set("train.diffuser.kind", "clear_plate", kind="choice")
    last = page.do("remove", path="train.film.strips")
    after = model._tabs[page.tab].history.now.text
    words = [last["undo"]]
    while words[-1]:
        words.append(page.do("undo")["undo"])
    assert len(words) == 7 and model._tabs[page.tab].history.now.text == before
    while (state := page.do("redo"))["redo"]:
        pass
    assert state["redo"] == "" and model._tabs[page.tab].history.now.text == after


def test_sheets_are_swapped_replaced_and_taken_out(model):
    page = Visitor(model)
    page.do("add", path="train", kind="prism_film")
    page.do("add", path="train.film.strips")
    page.do("add", path="train", kind="diffuser")
    train = model._tabs[page.tab].history.now.train
    first, second = list(train)[:2]
    heights = [train[first].z_mm, train[second].z_mm]
    page.do("swap", path=f"train.{first}")
    train = model._tabs[page.tab].history.now.train
    assert list(train)[:2] == [second, first]
    assert [part.z_mm for part in train.values()][:2] == heights
    page.set("train.film.kind", "clear_plate", kind="choice")
    film = model._tabs[page.tab].history.now.train["film"]
    assert film.kind == "clear_plate" and film.strips.pitch_mm == 18.0
    page.do("remove", path="train.film")
    assert "film" not in model._tabs[page.tab].history.now.train
    for how, name in (("remove", "panel"), ("swap", "diffuser"), ("remove", "nobody")):
        assert page.do(how, path=f"train.{name}")["mistakes"]


def test_whatever_the_models_allow_is_added_and_taken_out_again(model):
    """Parts of every kind, groups of emitters, and the tables that may be left out."""
    page = Visitor(model)
    before = model._tabs[page.tab].history.now
    kinds = set(PART_CLASSES) - {"panel", "aperture_stop"}
    assert {one["kind"] for one in page.state["additions"] if one["path"] == "train"} == kinds
    parts = [{"path": "train", "kind": kind} for kind in sorted(kinds)]
    for what in [*parts, {"path": "emitters"}]:
        state = page.do("add", **what)
        (new,) = {group["path"] for group in state["groups"]} - {
            group["path"] for group in page.state["groups"]
        }
        (group,) = (one for one in state["groups"] if one["path"] == new)
        assert ("remove", new, "take out") in group["changes"], what
        page.do("remove", path=new)
        assert model._tabs[page.tab].history.now.is_same_lamp(before), what
    page.do("add", path="train.panel.relative_transmittance")
    for path in ("housing.walls", "screen", "train.panel.relative_transmittance"):
        assert page.do("remove", path=path)["groups"], path
        assert page.do("add", path=path)["groups"], path
    refused = ["housing.roof", "screen", "train.film.strips", "emitters.bars", "train", "?"]
    for what in [{"path": "train", "kind": "mirror"}, *({"path": path} for path in refused)]:
        assert page.do("add", **what)["mistakes"], what


def test_two_tabs_do_not_mix(model):
    one = Visitor(model)
    other = Visitor(model, taken=[one.tab])
    assert other.tab != one.tab
    number = one.set("emitters.bars.flux_lm", 25)["number"]
    one.first_answer(number)
    other.first_answer(other.state["number"])
    assert controls(other.do("undo"))["emitters.bars.flux_lm"]["value"] == 20.0
    assert one.do("keep", name="bright")["kept"]["rows"][0]["name"] == "bright"
    assert other.wait("kept")["kept"]["rows"][0]["name"] == "bright"
    # The same page again, once reloaded; and a copy of a page whose first is still open.
    assert Visitor(model, tab=one.tab, taken=[other.tab]).tab == one.tab
    assert Visitor(model, tab=one.tab, taken=[one.tab, other.tab]).tab not in (one.tab, other.tab)


def test_what_is_told_is_plain_json(model):
    page = Visitor(model)
    told = [page.state, page.wait("answer"), page.wait("paths")]
    json.dumps(told, allow_nan=False)
    side = page.state["side"]
    assert [plane["axis"] for plane in side["planes"]] == ["y", "x"]


def test_tabs_that_nobody_knows_are_refused(model):
    with pytest.raises(KeyError):
        model.act("undo", {"tab": "nobody"})
    with pytest.raises(KeyError):
        model.act("drop", {})
    with pytest.raises(KeyError):
        model.listen("nobody")


def test_no_thread_is_left(folder):
    before = threading.active_count()
    model_of(folder).close()
    time.sleep(0.2)
    assert threading.active_count() <= before
