"""The verdict: its advice obeyed once, in random projectors, and its words."""

import re
import tomllib

import numpy as np
import pytest

from photonsim import trace
from photonsim.optics.focus import least_move_mm, moved
from photonsim.results import screen_of
from photonsim.results.merit import rim_over_mean
from photonsim.results.panel.field import ZONES
from photonsim.scene import load_scene, parse_scene, scene_from_dict
from photonsim.scene.writing import rewritten
from photonsim.summary.focus_words import focus_words
from photonsim.summary.verdict import Verdict, verdict_of
from photonsim.summary.verdict_text import verdict_text
from tests.shipped import SCENES
from tests.summary.projectors import COUNT, projector

# What the issue asks for: obeyed once, the RMS blur is within 5 % of the best that moving reaches.
WITHIN = 1.05
AROUND_MM = (-8.0, -4.0, -2.0, -1.0, -0.5, 0.5, 1.0, 2.0, 4.0, 8.0)


def blur_of(scene, photons):
    return trace(scene, photons=photons, threads=1).estimate("blur").value


def obeyed(scene, told):
    """Return the scene with the z_mm that the words give, or as it is where they give none."""
    found = re.search(r"new z_mm: ([^)]*)\)", " ".join(told.split()))
    if found is None:
        return scene
    places = dict(part.split() for part in found[1].split(", "))
    changes = {("train", name, "z_mm"): float(z) for name, z in places.items()}
    return parse_scene(rewritten(scene.text, changes), "obeyed")


def check_advice(number, photons):
    """Scan about the advised place: one seed for all, so that no chance comes between places."""
    scene = projector(number)
    told = verdict_text(verdict_of(scene, lambda one: trace(one, photons=photons, threads=1)))
    focused = obeyed(scene, told)
    reached = blur_of(focused, photons)
    places = [by for by in AROUND_MM if by > least_move_mm(focused)]
    best = min(reached, *(blur_of(moved(focused, by), photons) for by in places))
    assert reached <= WITHIN * best, told


@pytest.mark.parametrize("number", [2, 3])
def test_advice_obeyed_once_is_as_sharp_as_moving_can_make_it(number):
    check_advice(number, 1 << 17)


@pytest.mark.long
@pytest.mark.parametrize("number", range(COUNT))
def test_advice_in_ten_random_projectors(number):
    check_advice(number, 1 << 20)


def test_half_of_the_projectors_have_no_image():
    images = [projector(number).projection.focus_mm for number in range(COUNT)]
    assert [image is None for image in images] == [number % 2 == 0 for number in range(COUNT)]


def shipped(stem):
    return load_scene(next(path for path in SCENES if path.stem == stem))


def verdict(scene, photons=1 << 17):
    return verdict_of(scene, lambda one: trace(one, photons=photons, threads=1))


def test_the_shipped_lamps_are_in_focus():
    for path in SCENES:
        found = verdict(load_scene(path))
        assert not found.is_out_of_focus, path
        told = verdict_text(found)
        assert "Picture     yes, in focus: " in told
        assert max(map(len, told.splitlines())) <= 80


def test_the_three_lines_of_the_split_film_lamp():
    told = " ".join(verdict_text(verdict(shipped("d_split_film"), 1 << 20)).split())
    # By 100 million photons 1.88 and 3.57 pixels, 0.81 lx, 8.9 : 1, 0.38, 0.55, 0.57;
    # the limits are five standard errors of a million away.
    for pattern in (
        r"yes, in focus: (1\.8|1\.9|2) pixels of blur in the middle, (3\.[1-9]|4) in the corners\.",
        r"about 0\.(79|8|81|82|83) lx at 1\.5 m wide: very dim",
        r"In this room's 0\.1 lx white is (8\.[6-9]|9|9\.[12]) times black \(7 will do\)\.",
        r"dark: left and right 0\.[34], top and bottom 0\.[56], corners 0\.[56] of the mean",
    ):
        assert re.search(pattern, told), (pattern, told)


def test_lines_said_to_run_together_do_so_from_the_spots_photons():
    """Contrast as the modulus of the mean phase over single photons' places (Hecht, section 11.3).

    The places are drawn over their bins here, and the pitch is that of the words.
    """
    found = verdict(shipped("d_split_film")).now
    told = " ".join(verdict_text(Verdict(found, found)).split())
    words = re.search(r"than (\S+) pixels run .* closer than (\S+) in", told)
    view, luck = screen_of(found), np.random.default_rng(7)
    for zone, pitch in zip(("middle", "corners"), map(float, words.groups()), strict=True):
        left = []
        for axis in (0, 1):
            squares = light = 0.0
            for i, j in np.argwhere(ZONES[zone]):
                places, counts = view.spot(i, j)[axis], view.spot(i, j)[2]
                level = np.diff(view.spot(i, j)[0], axis=2)[:, :1, :1]
                spread = luck.uniform(-0.5, 0.5, (20, *counts.shape)) * level
                phase = np.exp(2j * np.pi * (places + spread) / view.pixel_mm / pitch)
                mean = (phase * counts).mean(axis=0).sum() / counts.sum()
                squares, light = squares + counts.sum() * abs(mean) ** 2, light + counts.sum()
            left.append((squares / light) ** 0.5)
        assert min(left) == pytest.approx(0.2, abs=0.03)
    # Of the anastigmat, whose blur is a quarter of a pixel.
    assert "Even single pixels show." in verdict_text(verdict(shipped("h_anastigmat")))


def test_a_virtual_image_is_no_picture_and_says_what_to_move():
    told = " ".join(verdict_text(verdict(moved(shipped("d_split_film"), -20.0))).split())
    assert "no: the lenses form no real image of the panel" in told
    assert re.search(r"Move the objective (19|20)\.\d+ mm farther from the panel", told)
    # Moved so, it is the lamp as shipped, whose blur is 1.9 pixels with many photons.
    assert re.search(r"then (1\.[89]|2) pixels of blur in the middle", told)


def test_a_screen_that_follows_the_objective_gets_a_distance():
    lamp = shipped("d_split_film")
    loose = lamp.model_copy(update={"screen": lamp.screen.model_copy(update={"distance_mm": None})})
    told = " ".join(verdict_text(verdict(loose)).split())
    # Sharpest 40 mm beyond 2810 in the lamp as shipped.
    assert re.search(r"Set the screen's distance_mm = 28[345]0; then 1\.[89] pixels", told)


def test_without_a_screen_the_picture_cannot_be_told():
    bare = shipped("d_split_film").model_copy(update={"screen": None})
    told = verdict_text(verdict(bare))
    assert "the scene has no [screen]" in told
    assert "lm leave the objective" in told


def test_left_and_right_are_told_apart_in_a_lopsided_lamp():
    lamp = shipped("d_split_film")
    bars = lamp.emitters["bars"].model_copy(update={"x_mm": -6.0})
    lopsided = lamp.model_copy(update={"emitters": {"bars": bars}})
    found = verdict(lopsided, 1 << 19)
    left, right, *_ = rim_over_mean(found.best.samples.total, found.best.optics)[0]
    assert left > 0.6 > 0.2 > right
    assert re.search(r"left (0\.[6-9]|1\.\d), right 0\.[01]", " ".join(verdict_text(found).split()))


def with_objective(field_mm, z_mm, distance_mm=2810.0):
    """The split-film lamp with one ideal lens of 205 mm, z_mm high, as objective."""
    data = tomllib.loads(shipped("d_split_film").text)
    for name in ("rear_lens", "front_lens", "stop"):
        del data["train"][name]
    data["train"]["field_lens"]["focal_mm"] = field_mm
    lens = {"kind": "ideal_lens", "z_mm": z_mm, "focal_mm": 205.0, "diameter_mm": 60.0}
    stop = {"kind": "aperture_stop", "z_mm": z_mm + 5.0, "diameter_mm": 40.0}
    data["train"] |= {"lens": lens, "stop": stop}
    data["screen"]["distance_mm"] = distance_mm
    return scene_from_dict(data, "projector")


def test_a_trace_says_that_there_is_no_picture_with_a_matching_field_lens():
    """f = 205, 150 mm behind the panel, the field lens matched to the stop: version 0.3.0 found
    nothing odd, and said that the objective should move by 15 mm."""
    scene = with_objective(155.0, 195.0)
    told = focus_words(trace(scene, photons=1 << 17, threads=1))
    assert "no picture: the lenses form no real image of the panel" in told
    asked = float(re.search(r"about: move the objective ([\d.]+) mm farther", told)[1])
    found = float(re.search(r"objective ([\d.]+) mm", verdict_text(verdict(scene)))[1])
    assert asked == pytest.approx(found, rel=0.05)
    assert "screen moved" not in told


def test_a_trace_in_focus_keeps_the_small_move_of_the_screen():
    told = focus_words(trace(shipped("d_split_film"), photons=1 << 17, threads=1))
    assert told.startswith("in focus; this lamp's own light is sharpest with the screen moved by ")


def test_where_moving_cannot_help_the_verdict_says_what_would():
    """A screen 240 mm from a lens of 205 mm: it would have to stand 1.4 m from the panel."""
    told = " ".join(verdict_text(verdict(with_objective(180.0, 245.0, 235.0))).split())
    assert "Moving the objective cannot help: the screen is 240 mm from an objective" in told
    assert "move the screen to 256 mm or more" in told
