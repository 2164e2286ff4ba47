"""What the page writes into its folder, and finds there again."""

import base64
import subprocess

import pytest
from PIL import Image

import photonsim
from photonsim.live.errands import COMMANDS
from photonsim.live.light import answers
from photonsim.results import FIGURES
from tests.live.visitor import FIRST, SCENES, Visitor, controls, model_of


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
