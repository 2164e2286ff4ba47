"""When a run ends: counts that follow from scene and options alone."""

import math
from itertools import pairwise

import pytest

import photonsim
from photonsim.engine import StopRule, stop_rule, trace
from photonsim.engine.rows import batch_shift
from photonsim.engine.stop_rule import DEFAULT_PHOTONS, next_print_look
from photonsim.results.panel import blocks
from photonsim.results.panel.blocks import FEWEST_BLOCKS, is_fit_to_print, photons_for
from tests.same_bits import assert_same_bits
from tests.shipped import SCENES, scene


def test_with_no_rule_a_run_ends_at_a_fixed_count():
    assert StopRule().most_photons == DEFAULT_PHOTONS == 33_554_432
    assert StopRule(photons=12).most_photons == 12
    for bounded in (StopRule(relative_error=0.1), StopRule(seconds=1.0), StopRule(None, None, 1.0)):
        assert bounded.most_photons > 10**13


@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_the_default_count_is_enough_for_every_shipped_lamp(path):
    """From a million photons: errors fall with the root of the count, and so does a map's noise."""
    result = trace(photonsim.load_scene(path), photons=1 << 20)
    error = result.estimate("collected_fraction").relative_error
    assert error * math.sqrt((1 << 20) / DEFAULT_PHOTONS) < 0.002
    wanted = photons_for(result.effective_counts("collected"), 1 << 20, FEWEST_BLOCKS, 0.05)
    # Stripes of bars make the median block dimmer than it looks from 45 blocks: 10 % of reserve.
    assert wanted < 0.9 * DEFAULT_PHOTONS


@pytest.mark.long
@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_a_run_of_the_default_count_is_worth_looking_at(path):
    from photonsim.figures.panel.maps import map_blocks

    result = trace(photonsim.load_scene(path))
    assert result.photons == DEFAULT_PHOTONS
    assert result.estimate("collected_fraction").relative_error <= 0.002
    counts, columns = result.effective_counts("collected"), map_blocks(result, "collected")
    assert math.prod(blocks.block_shape(counts.shape, columns)) >= FEWEST_BLOCKS
    assert blocks.block_noise(counts, columns) <= 0.05


def test_looks_for_print_follow_from_the_count_alone():
    looks = [DEFAULT_PHOTONS]
    while looks[-1] < 1 << 40:
        looks.append(next_print_look(looks[-1]))
    assert all(1.0 < b / a <= 1.0 + 1.0 / 16.0 for a, b in pairwise(looks))
    assert len(looks) == 15 * 16 + 1
    for look in looks:
        assert look % (1 << batch_shift(look)) == 0, "the last batch is complete"
        assert next_print_look(look - 1) == look
    assert next_print_look(0) == next_print_look(77) == DEFAULT_PHOTONS


@pytest.fixture
def quick(monkeypatch):
    """Maps of 45 blocks at 8 % are fit to print, and looks begin at 4,096 photons."""
    monkeypatch.setattr(blocks, "PRINT_BLOCKS", 45)
    monkeypatch.setattr(blocks, "PRINT_NOISE", 0.08)
    monkeypatch.setattr(stop_rule, "DEFAULT_PHOTONS", 1 << 12)


def test_a_run_until_its_map_is_fit_to_print_ends_at_the_first_look_that_finds_it(quick):
    lamp = scene("f")
    result = trace(lamp, fit_to_print=True, seed=3)
    assert result.run.stopped_by == "map fit to print" and result.is_complete
    look = 1 << 12
    while not is_fit_to_print(trace(lamp, photons=look, seed=3).effective_counts("collected")):
        look = next_print_look(look)
    assert result.photons == look > 1 << 14


def test_its_count_and_bits_do_not_depend_on_how_it_was_run(quick, monkeypatch):
    lamp = scene("f")
    whole = trace(lamp, fit_to_print=True, threads=2, seed=2)
    # Rounds of 331 photons each end at other counts than rounds from look to look; with this seed
    # the map is fit already between two looks.
    monkeypatch.setattr("photonsim.engine.open_run.ROUND_SECONDS", 0.0)
    monkeypatch.setattr("photonsim.engine.open_run.FIRST_ROUND", 331)
    assert_same_bits(whole, trace(lamp, fit_to_print=True, threads=1, seed=2))
    part = trace(lamp, photons=5_003, seed=2)
    assert_same_bits(whole, trace(lamp, fit_to_print=True, resume=part, seed=2))
    again = trace(lamp, fit_to_print=True, resume=whole, seed=2)
    assert again.photons == whole.photons


def test_a_count_ends_a_run_for_print_too_and_so_does_a_lamp_without_light(quick):
    short = trace(scene("f"), photons=5_120, fit_to_print=True)
    assert short.photons == 5_120 and "photon count" in short.run.stopped_by
    dark = trace(scene("f", hole="diameter_mm = 40.0 => diameter_mm = 0.001"), fit_to_print=True)
    assert dark.photons == 1 << 12
    assert "no light collected" in dark.run.stopped_by
