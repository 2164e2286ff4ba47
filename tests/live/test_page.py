"""The page in a headless browser: keyboard, screen readers, waiting time, tabs, and what it saves.

Skipped where there is no chromium. The check of accessibility is axe-core's, skipped where that is
not installed: pip install --no-deps axe-playwright-python.
"""

import importlib.util
import json
import os
import subprocess
import sys
import threading
from pathlib import Path

import numpy as np
import pytest

import photonsim
from photonsim.live.light import answers
from photonsim.live.server import PageServer
from photonsim.results import FIGURES
from tests.live.browser import Browser
from tests.live.visitor import SCENES, model_of
from tests.report.browser import PROGRAM, WHY_NOT

pytestmark = pytest.mark.skipif(PROGRAM is None, reason=WHY_NOT)


class Served:
    """A server with its model, as `photonsim live` has them."""

    def __init__(self, folder):
        photonsim.trace(folder / "a_bars.toml", photons=256)
        self.model = model_of(folder)
        self.server = PageServer(self.model)
        self.address = self.server.address
        threading.Thread(target=self.server.serve_forever, args=(0.05,), daemon=True).start()

    def close(self):
        self.server.shutdown()
        self.server.server_close()
        self.model.close()


@pytest.fixture
def served(folder):
    made = Served(folder)
    yield made
    made.close()


@pytest.fixture
def browser(tmp_path_factory):
    made = Browser(tmp_path_factory.mktemp("browser"))
    yield made
    made.close()


HAS_ANSWER = "document.querySelectorAll('#figures td').length > 8"
FOCUSED = "document.activeElement ? document.activeElement.id : ''"


def opened(browser, served, **rest):
    browser.open(served.address, **rest)
    browser.wait(HAS_ANSWER)
    return browser


def go_to(browser, name, back=False):
    """Press Tab until an element has the focus, as somebody without a mouse does."""
    for _ in range(250):
        if browser.evaluate(FOCUSED) == name:
            return
        browser.press("Tab", shift=back)
    raise AssertionError(f"the keyboard does not lead to {name}")


def value(browser, path):
    return browser.evaluate(f"document.getElementById({json.dumps('c-' + path)}).value")


def enter(browser, path, words):
    go_to(browser, f"c-{path}")
    browser.type(words)
    browser.press("Enter")


def settled(browser):
    """Wait until the figures shown are those of the design that is shown, at the first count on."""
    browser.wait("!sending && shownNumber === state.number")


def test_by_keyboard_alone_a_lamp_is_built_and_saved(browser, served, folder):
    opened(browser, served)
    go_to(browser, "kind")
    for letter in "prism":
        browser.press(letter)
    go_to(browser, "add")
    browser.press("Enter")
    browser.wait("!!document.getElementById('c-train.film.z_mm')")
    enter(browser, "train.film.z_mm", "14,0")
    browser.wait("document.getElementById('c-train.film.z_mm').value === '14'")
    go_to(browser, "add-train.film.strips", back=True)
    browser.press("Enter")
    browser.wait("!!document.getElementById('c-train.film.strips.gap_mm')")
    enter(browser, "train.film.strips.gap_mm", "6,5")
    # At once on to the slider behind the box: five steps down, of a tenth of a millimetre each.
    browser.press("Tab")
    for _ in range(5):
        browser.press("ArrowLeft")
    browser.wait("document.getElementById('c-train.film.strips.gap_mm').value === '6'")
    enter(browser, "screen.distance_mm", "2810")
    settled(browser)
    go_to(browser, "name", back=True)
    browser.type("my lamp")
    go_to(browser, "save", back=True)
    browser.press("Enter")
    browser.wait("document.getElementById('remark').textContent.includes('my_lamp.toml')")
    shown = browser.wait(
        "(() => { const n = +document.getElementById('provenance').textContent.split(' ')[0]"
        ".replaceAll(',', ''); return n && { photons: n, figures: [...document.querySelectorAll("
        "'#figures tr')].map((row) => row.children[1].textContent) }; })()"
    )
    saved = folder / "my_lamp.toml"
    scene = photonsim.load_scene(saved)
    assert scene.is_same_lamp(photonsim.load_scene(SCENES / "d_split_film.toml"))
    assert "# A plywood box" in scene.text
    checked = subprocess.run(
        [sys.executable, "-m", "photonsim", "check", "--no-trace", str(saved)], capture_output=True
    )
    assert checked.returncode == 0, checked.stderr
    pinned = photonsim.trace(folder / "a_bars.toml", photons=256 * 32, seed=answers.SEED)
    result = photonsim.trace(scene, photons=shown["photons"], seed=answers.SEED, guide=pinned)
    names = photonsim.results.shown_in(photonsim.results.Shown.TRACE)
    figures = [FIGURES[name] for name in names]
    wanted = [result.estimate(one.name).text(one.scale, one.unit) for one in figures]
    assert shown["figures"] == wanted
    assert browser.complaints() == []


# Moves a slider, waits until the answer to that is painted, and says how long it took: 31 times.
WAITING = """(async () => {
  const slider = boxes.get("train.film.z_mm").slider;
  const frame = () => new Promise(requestAnimationFrame);
  const took = [];
  for (let k = 0; k < 31; k += 1) {
    while (sending) await frame();
    const before = shownNumber, began = performance.now();
    slider.value = 10 + k * 0.5;
    slider.dispatchEvent(new Event("input"));
    while (sending || state.number <= before || shownNumber < state.number) await frame();
    await frame();
    took.push(performance.now() - began);
  }
  return took.slice(1);
})()"""
DRAGGING = """(async () => {
  const slider = boxes.get("train.film.z_mm").slider;
  const seen = new Set(), began = performance.now();
  while (performance.now() - began < 4000) {
    slider.value = 10 + 8 * Math.abs(Math.sin((performance.now() - began) / 700));
    slider.dispatchEvent(new Event("input"));
    await new Promise(requestAnimationFrame);
    seen.add(shownNumber);
  }
  return seen.size / 4;
})()"""


def test_an_answer_comes_while_the_slider_moves(browser, served, record_property):
    """Asked of two cores that the browser shares: median 150 ms, 95 % in 300 ms, 10 a second.

    Beside other work it takes as long as that makes it, so the limits here are four times as wide;
    PHOTONSIM_QUIET=1 says that the machine is free, and asks for the real ones.
    """
    opened(browser, served)
    browser.evaluate("command('add', { path: 'train', kind: 'prism_film' })")
    browser.wait("boxes.has('train.film.z_mm')")
    browser.evaluate(WAITING)
    took = np.array(browser.evaluate(WAITING))
    rate = browser.evaluate(DRAGGING)
    median, late = np.median(took), np.quantile(took, 0.95)
    words = f"median {median:.0f} ms, 95 % within {late:.0f} ms, {rate:.1f} answers a second"
    record_property("waiting", words)
    print(words)
    slack = 1.0 if os.environ.get("PHOTONSIM_QUIET") else 4.0
    assert median <= 150.0 * slack and late <= 300.0 * slack and rate >= 10.0 / slack, words


# What moves or is blank while a slider is dragged, and after it until the figures are ten times as
# sure: boxes of all that is shown, pixels of the maps, frame by frame, and what the browser calls a
# shift (Layout Instability API, W3C: a score of 0.1 or less is called good; here none is allowed).
FLICKER = """(async () => {
  const slider = boxes.get("train.film.z_mm").slider, found = new Set();
  const shown = () => [...document.querySelectorAll("#verdict, #figures, #maps canvas, \
    #profiles > figure > svg, #side > svg, #ledger, #seen, #kept, #groups > div")];
  const box = (one) => {
    const { top, left, width, height } = one.getBoundingClientRect();
    return [top + scrollY, left, width, height].map(Math.round).join(" ");
  };
  const isBlank = (one) => {
    if (one.tagName !== "CANVAS") return !one.childNodes.length;
    const middle = one.getContext("2d").getImageData(0, one.height >> 1, one.width, 1).data;
    return !middle.some((value, k) => value && k % 4 < 3);
  };
  const name = (one) => `${one.id || one.tagName} in ${one.parentElement.id || "a figure"}`;
  const note = ({ node }) => found.add(`shift of ${node && (node.id || node.textContent)}`);
  new PerformanceObserver((list) => list.getEntries().forEach((one) => one.sources.forEach(note)))
    .observe({ type: "layout-shift" });
  const before = shown().map(box), began = performance.now(), first = state.number;
  const isDragged = () => performance.now() - began < 3000;
  let frames = 0, photons = 0;
  while (isDragged() || shownNumber < state.number || photons < 8e6) {
    if (isDragged()) {
      slider.value = 13 + 4 * Math.sin((performance.now() - began) / 500);
      slider.dispatchEvent(new Event("input"));
    }
    await new Promise(requestAnimationFrame);
    frames += 1;
    photons = Number(document.getElementById("provenance").textContent.replace(/ .*|,/g, ""));
    shown().forEach((one, k) => {
      if (isBlank(one)) found.add(`blank ${name(one)}`);
      if (box(one) !== before[k]) found.add(`moved ${name(one)}: ${before[k]} to ${box(one)}`);
    });
    if (!document.getElementById("lead").textContent.includes("±")) found.add("no figure");
  }
  return { found: [...found], frames, answers: state.number - first };
})()"""


@pytest.mark.parametrize("width", [390, 1280, 1920])
def test_nothing_flickers_or_jumps_while_one_drags(browser, served, width):
    opened(browser, served, width=width)
    browser.evaluate("command('add', { path: 'train', kind: 'prism_film' })")
    browser.wait("document.getElementById('seen').dataset.number === String(state.number)")
    told = browser.evaluate(FLICKER)
    assert told["found"] == []
    assert told["answers"] >= 3 and told["frames"] > 3 * told["answers"], told


def test_bad_values_while_dragging_are_told_and_the_picture_stays(browser, served):
    opened(browser, served)
    path = "emitters.bars.pitch_x_mm"
    browser.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    before = browser.evaluate("shownNumber")
    # Bars of 2.8 mm at a pitch of 2 mm run into one another.
    browser.evaluate(
        f"(() => {{ const s = boxes.get('{path}').slider; s.value = 2; "
        "s.dispatchEvent(new Event('input')); s.dispatchEvent(new Event('change')); })()"
    )
    browser.wait(f"boxes.get('{path}').mistake.textContent")
    assert browser.evaluate(f"boxes.get('{path}').box.getAttribute('aria-invalid')") == "true"
    assert browser.evaluate("shownNumber") == before
    assert browser.evaluate(HAS_ANSWER)
    enter(browser, path, "sechs")
    browser.wait(f"boxes.get('{path}').mistake.textContent.includes('not a number')")
    enter(browser, path, "6,5")
    box = f"boxes.get('{path}')"
    browser.wait(f"!{box}.mistake.textContent && {box}.box.value === '6.5'")


@pytest.mark.parametrize(("typed", "slid"), [("0", "0"), ("12,5", "12.5"), ("wide", "4")])
def test_a_slider_has_what_is_typed_at_once(browser, served, typed, slid):
    """Whoever goes on by arrow keys goes on from there; what is no number moves nothing."""
    opened(browser, served)
    found = browser.evaluate(
        "(() => { const { box, slider } = boxes.get('train.panel.z_mm'); "
        "Object.assign(slider, { min: 0, max: 20, step: 0.5, value: 4 }); "
        f"box.value = '{typed}'; box.dispatchEvent(new Event('change')); return slider.value; }})()"
    )
    assert found == slid


def test_reload_and_a_second_tab_lose_nothing_and_do_not_mix(browser, served):
    opened(browser, served)
    enter(browser, "emitters.bars.flux_lm", "25")
    settled(browser)
    browser.call("Page.reload")
    browser.wait(f"typeof boxes === 'object' && boxes.size > 9 && {HAS_ANSWER}")
    assert value(browser, "emitters.bars.flux_lm") == "25"
    first = browser.evaluate("tab")
    other = browser.another()
    try:
        opened(other, served)
        assert other.evaluate("tab") != first
        assert value(other, "emitters.bars.flux_lm") == "20"
        enter(other, "emitters.bars.flux_lm", "30")
        settled(other)
        assert value(browser, "emitters.bars.flux_lm") == "25"
        # What one keeps, the other can start from once it is looked at.
        other.evaluate("keep()")
        starts = "[...document.getElementById('start').options].map((one) => one.value)"
        browser.call("Page.bringToFront")
        browser.wait(f"{starts}.some((one) => one.includes('a_bars_2'))")
        other.evaluate("document.getElementById('undo').click()")
        other.wait("boxes.get('emitters.bars.flux_lm').box.value === '20'")
    finally:
        other.close()


def test_when_the_program_ends_it_is_said_and_nothing_is_lost(browser, folder):
    made = Served(folder)
    opened(browser, made)
    enter(browser, "emitters.bars.flux_lm", "25")
    settled(browser)
    made.close()
    browser.wait("document.getElementById('remark').textContent.includes('start it again')")
    again = Served(folder)
    try:
        opened(browser, again)
        browser.wait("boxes.size > 9")
        assert value(browser, "emitters.bars.flux_lm") == "25"
    finally:
        again.close()


# 640 and 320 are 1280 at a zoom of 200 and 400 % (WCAG 2.2, 1.4.4 and 1.4.10).
@pytest.mark.parametrize("width", [320, 390, 640, 1280, 1920])
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_it_fits_and_axe_finds_nothing_serious(browser, served, width, dark):
    opened(browser, served, width=width, dark=dark)
    browser.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    assert browser.evaluate("document.documentElement.scrollWidth") <= width
    found = importlib.util.find_spec("axe_playwright_python")
    if found is None:
        pytest.skip("no axe-core here: pip install --no-deps axe-playwright-python")
    script = next(Path(found.submodule_search_locations[0]).rglob("axe.min.js"))
    browser.evaluate(script.read_text(encoding="utf-8"))
    violations = browser.evaluate("axe.run().then((all) => all.violations)")
    serious = [
        (one["id"], [node["html"][:100] for node in one["nodes"]][:4])
        for one in violations
        if one["impact"] in ("serious", "critical")
    ]
    assert not serious


def test_only_what_has_settled_is_spoken(browser, served):
    opened(browser, served)
    assert browser.evaluate("document.getElementById('spoken').textContent") == ""
    browser.wait("document.getElementById('spoken').textContent.startsWith('collected')")
    live = "[...document.querySelectorAll('[aria-live]')].map((one) => one.id)"
    assert browser.evaluate(live) == ["spoken"]
