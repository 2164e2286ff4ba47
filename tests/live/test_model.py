"""The model of the page, without HTTP and without a browser."""

import base64
import json
import subprocess
import threading
import time
from pathlib import Path

import pytest
from PIL import Image

import photonsim
from photonsim.live.errands import COMMANDS
from photonsim.live.light import answers
from photonsim.live.model import Model
from photonsim.results import FIGURES, Shown, shown_in
from photonsim.scene.train import PART_CLASSES
from photonsim.studies.comparing.paired import difference

SCENES = Path(__file__).parents[2] / "scenes"
FIRST = answers.COUNTS[0]
PATIENCE_S = 120.0


class Visitor:
    """A page without a browser: it commands and hears what it is told."""

    def __init__(self, model, **opening):
        self.model = model
        self.state = model.act("open", opening)
        self.tab = self.state["tab"]
        self.heard = {}
        self._news = model.listen(self.tab)

    def do(self, action, /, **command):
        return self.model.act(action, {"tab": self.tab, **command})

    def set(self, path, value, **rest):
        return self.do("set", path=path, value=value, **rest)

    def wait(self, kind, is_wanted=lambda message: True):
        """Return the next message of a kind that is wanted, or the last one told if it is."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            found = self.heard.pop(kind, None)
            if found is not None and is_wanted(found):
                return found
            self.heard |= dict(next(self._news))
        raise AssertionError(f"no {kind} was told")

    def first_answer(self, number):
        return self.wait("answer", lambda told: told["number"] == number)


@pytest.fixture
def folder(tmp_path):
    for name in ("a_bars", "d_split_film"):
        (tmp_path / f"{name}.toml").write_bytes((SCENES / f"{name}.toml").read_bytes())
    return tmp_path


@pytest.fixture
def model(folder):
    made = model_of(folder)
    yield made
    made.close()


def model_of(folder, name="a_bars"):
    file = folder / f"{name}.toml"
    return Model(photonsim.load_scene(file), name, folder, file)


def controls(state):
    return {one["path"]: one for group in state["groups"] for one in group["controls"]}


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
    from photonsim.live.design.controls import value_typed

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
        assert next(one for one in state["groups"] if one["path"] == new)["is_optional"], what
        page.do("remove", path=new)
        assert model._tabs[page.tab].history.now.is_same_lamp(before), what
    page.do("add", path="train.panel.relative_transmittance")
    for path in ("housing.walls", "screen", "train.panel.relative_transmittance"):
        assert page.do("remove", path=path)["groups"], path
        assert page.do("add", path=path)["groups"], path
    refused = ["housing.roof", "screen", "train.film.strips", "emitters.bars", "train", "?"]
    for what in [{"path": "train", "kind": "mirror"}, *({"path": path} for path in refused)]:
        assert page.do("add", **what)["mistakes"], what


def test_a_lamp_is_built_and_saved_with_its_comments_and_passes_check(model, folder):
    """Bars alone become film in strips: the numbers are those of scenes/d_split_film.toml."""
    page = Visitor(model)
    page.do("add", path="train", kind="prism_film")
    page.set("train.film.z_mm", "14", kind="number")
    page.do("add", path="train.film.strips")
    page.set("train.film.strips.gap_mm", "6,0", kind="number")
    number = page.set("screen.distance_mm", "2810", kind="number")["number"]
    told = page.first_answer(number)
    assert page.do("save", name="my lamp") == {"saved": "my_lamp.toml"}
    saved = photonsim.load_scene(folder / "my_lamp.toml")
    other = photonsim.load_scene(SCENES / "d_split_film.toml")
    assert saved.is_same_lamp(other)
    assert "# A plywood box, a few millimetres wider" in saved.text
    pinned = photonsim.trace(folder / "a_bars.toml", photons=FIRST, seed=answers.SEED)
    result = photonsim.trace(
        folder / "my_lamp.toml", photons=FIRST, seed=answers.SEED, guide=pinned
    )
    for row in told["figures"]:
        figure = FIGURES[row["name"]]
        assert row["text"] == result.estimate(figure.name).text(figure.scale, figure.unit)


def test_nothing_is_written_over_unasked_or_outside(model, folder):
    page = Visitor(model)
    was = (folder / "a_bars.toml").read_bytes()
    page.set("emitters.bars.flux_lm", 25)
    assert page.do("save", name="a_bars") == {"exists": "a_bars.toml"}
    assert (folder / "a_bars.toml").read_bytes() == was
    for name in ("../a", "/tmp/a", "a/b", "", ".", "..", "C:a", "a.toml", "-x", "x" * 61, "a\x00b"):
        assert page.do("save", name=name)["mistakes"], name
    outside = folder.parent / "outside.toml"
    outside.write_text("mine")
    (folder / "link.toml").symlink_to(outside)
    assert page.do("save", name="link") == {"exists": "link.toml"}
    assert page.do("save", name="a_bars", over=True) == {"saved": "a_bars.toml"}
    assert (folder / "earlier" / "a_bars-1.toml").read_bytes() == was
    assert outside.read_text() == "mine"


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


def test_the_server_ends_and_starts_again_and_nothing_is_lost(model, folder):
    page = Visitor(model)
    page.set("emitters.bars.flux_lm", 25)
    page.do("pin")
    number = page.set("emitters.bars.flux_lm", 30)["number"]
    page.first_answer(number)
    kept = page.do("keep", name="bright")["kept"]
    model.close()
    again = model_of(folder)
    try:
        other = Visitor(again)
        assert controls(other.state)["emitters.bars.flux_lm"]["value"] == 30.0
        assert (
            other.state["kept"] == kept and other.state["pinned"] == "emitters.bars.flux_lm 20 → 25"
        )
        assert controls(other.do("undo"))["emitters.bars.flux_lm"]["value"] == 25.0
        assert controls(other.do("undo"))["emitters.bars.flux_lm"]["value"] == 20.0
        state = other.do("start", **{"from": "kept"}, name="bright")
        assert controls(state)["emitters.bars.flux_lm"]["value"] == 30.0
        assert other.do("forget", name="bright")["kept"]["rows"] == []
    finally:
        again.close()


@pytest.mark.parametrize(
    "content", ["", "{", "[]", '{"format": "else"}', '{"kept": [{"name": 3}]}']
)
def test_a_damaged_list_is_set_aside_and_not_lost(folder, content):
    (folder / "a_bars.live.json").write_text(content)
    made = model_of(folder)
    try:
        assert "earlier" in Visitor(made).state["remark"]
        assert (folder / "earlier" / "a_bars.live-1.json").read_text() == content
    finally:
        made.close()


def test_a_scene_file_that_changes_on_disk_is_told_and_taken_up_when_asked(model, folder):
    page = Visitor(model)
    file = folder / "a_bars.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("flux_lm = 20.0", "flux_lm = 26.5"), encoding="utf-8")
    assert "has changed" in page.wait("file")["words"]
    assert controls(page.do("undo"))["emitters.bars.flux_lm"]["value"] == 20.0
    state = page.do("start", **{"from": "file"})
    assert controls(state)["emitters.bars.flux_lm"]["value"] == 26.5
    assert controls(page.do("undo"))["emitters.bars.flux_lm"]["value"] == 20.0
    file.write_text("title = 3", encoding="utf-8")
    page.wait("file", lambda told: "can't be read: title" in told["words"])
    assert page.do("start", **{"from": "file"})["mistakes"]
    file.unlink()
    page.wait("file", lambda told: "no such file" in told["words"])


def test_variants_are_starting_points(folder):
    text = (SCENES / "a_bars.toml").read_text(encoding="utf-8")
    (folder / "v.toml").write_text(text + "\n[variants.bright]\nemitters.bars.flux_lm = 40.0\n")
    made = model_of(folder, "v")
    try:
        page = Visitor(made)
        assert page.state["variants"] == ["bright"]
        state = page.do("start", **{"from": "variant"}, name="bright")
        assert controls(state)["emitters.bars.flux_lm"]["value"] == 40.0
        assert page.do("start", **{"from": "variant"}, name="none")["mistakes"]
    finally:
        made.close()


def test_what_is_told_is_plain_json(model):
    page = Visitor(model)
    told = [page.state, page.wait("answer"), page.wait("paths")]
    json.dumps(told, allow_nan=False)
    side = page.state["side"]
    assert [plane["axis"] for plane in side["planes"]] == ["y", "x"]


def test_a_picture_of_the_folder_is_shown(folder):
    Image.new("RGB", (40, 30)).save(folder / "night.png")
    (folder / "no.png").write_text("mine")
    model = model_of(folder)
    try:
        page = Visitor(model)
        assert page.state["pictures"] == ["night.png", "no.png"]
        chart = page.wait("picture")["png"]
        assert base64.b64decode(chart).startswith(b"\x89PNG")
        number = page.do("picture", name="night.png")["number"]
        assert page.wait("picture", lambda told: told["number"] == number)["png"] != chart
        page.do("picture", name="no.png")
        assert "not a picture" in page.wait("trouble")["words"]
        # No name leads out of the folder: the test chart is shown again.
        number = page.do("picture", name="../night.png")["number"]
        assert page.wait("picture", lambda told: told["number"] == number)["png"] == chart
    finally:
        model.close()


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_is_run_on_what_is_kept_and_its_files_are_shown(folder, monkeypatch, command):
    """Each once, from the page to the file it links; few photons, so that it is quick."""
    if command in ("compare", "report"):
        begin, few = subprocess.Popen, ["--photons", str(FIRST)]
        monkeypatch.setattr(subprocess, "Popen", lambda line, **rest: begin([*line, *few], **rest))
    made = model_of(folder, "d_split_film")
    try:
        page = Visitor(made)
        assert page.do("run", command=command)["mistakes"]
        assert page.do("run", command="rm")["mistakes"]
        page.first_answer(page.state["number"])
        for name, flux_lm in (("one", 20), ("two", 22)):
            page.first_answer(page.set("emitters.bars.flux_lm", flux_lm)["number"])
            assert page.do("keep", name=name)["kept"]["rows"][-1]["name"] == name
        assert page.do("run", command=command) == {}
        assert page.do("run", command=command)["mistakes"]
        told = page.wait("errand", lambda told: not told["is_running"])
        assert told["line"].startswith(f"photonsim {command} one.toml"), told
        assert "two.toml" in told["line"] and "wrote" in told["words"], told
        kind = {"compare": ".csv", "report": ".html", "cut": ".pdf", "supply": ".png"}[command]
        (first, *_) = [name for name in told["files"] if name.endswith(kind)]
        body, _ = made.content(first)
        assert body and (folder / "d_split_film-kept" / first).read_bytes() == body
        for name in ("../a_bars.toml", "/etc/passwd", "one.live.json", f"{command}-out", "\x00"):
            assert made.content(name) is None
    finally:
        made.close()


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
