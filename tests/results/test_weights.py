"""Weighted photons: no figure knows the unit of its counts, and errors are those of weights."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.figures.panel.counting import counts_with_errors
from photonsim.results import FIGURES, MAPS, screen_of
from photonsim.results.measured import Measured
from photonsim.results.panel import weights
from photonsim.results.panel.blocks import block_noise, block_sums, median_count
from photonsim.results.picture import blur
from photonsim.results.picture.spot import radius_80_mm
from photonsim.results.picture.stop import stop_filled, trade_off
from photonsim.results.picture.zones import ZONES, zones_of
from photonsim.results.sums import Sums, jackknifed
from photonsim.results.tallies import DIRECTION_SCALE
from photonsim.studies.fitting.fit import light_at
from photonsim.workshop.readings import Reading
from tests.chance import assert_coverage, assert_mean
from tests.results.test_zones import even_stop, nested, spot_of
from tests.shipped import scene

UNIT = 8
# Weights of photons as a guide gives them, and how often each comes: their mean by light is 14.6.
WEIGHTS, OFTEN = np.array([1, 4, 16, 64]), np.array([0.7, 0.2, 0.095, 0.005])
MEAN_WEIGHT = float(OFTEN @ WEIGHTS**2 / (OFTEN @ WEIGHTS))


def in_units(result, unit):
    """Return a result all of whose photons weigh so many units."""
    tallies = result.tallies
    batches = {
        name: counts * {"squares": unit**2, "events": 1}.get(name, unit)
        for name, counts in tallies.batches.items()
    }
    maps = {name: unit * getattr(tallies, name) for name in MAPS}
    guide = SimpleNamespace(counts_per_photon=unit, heaviest=unit, digest="")
    return replace(result, tallies=replace(tallies, batches=batches, guide=guide, **maps))


@pytest.fixture(scope="module", params=[5_000, 400_000])
def pair(request):
    """A run, and the same in other units."""
    result = trace(scene("h"), photons=request.param, guide="off")
    return result, in_units(result, UNIT)


def close(one, other):
    """Fail where two estimates, arrays or tuples of them differ by more than rounding."""
    if hasattr(one, "error"):
        one, other = ((each.value, each.error, each.degrees) for each in (one, other))
    np.testing.assert_allclose(one, other, rtol=1e-9)


@pytest.mark.parametrize("name", FIGURES)
def test_no_figure_depends_on_the_unit_of_the_counts(pair, name):
    close(*(result.estimate(name) for result in pair))


def test_no_figure_of_the_screen_depends_on_the_unit_of_the_counts(pair):
    views = [screen_of(result) for result in pair]
    for one, other in zip(*(zones_of(view) for view in views), strict=True):
        for name in (field for field in one._fields if field != "name"):
            close(getattr(one, name), getattr(other, name))
    for one, other in zip(*(trade_off(result) for result in pair), strict=True):
        for mine, theirs in zip(one, other, strict=True):
            close(mine, theirs)
    pitches = np.array([2.0, 5.0, 20.0])
    close(*(view.line_contrast(ZONES["corners"], pitches, "x") for view in views))
    close(*(view.best_focus_mm() for view in views))
    close(*(view.blur_at_best_focus_px() for view in views))
    close(*(view.mean_lux for view in views))


def test_no_map_and_no_reading_depends_on_the_unit_of_the_counts(pair):
    for name in ("incident", "collected"):
        close(*(result.effective_counts(name) for result in pair))
        close(*(result.illuminance_map(name) for result in pair))
        close(*(result.nine_points(name) for result in pair))
    close(*(result.spread_map() for result in pair))
    close(*(result.map("collected") for result in pair))
    for place in ("panel", "screen"):
        reading = Reading(place, 1.0, 0.1, 10.0, 5.0, 1500.0)
        close(*(light_at(result, reading, 8.0) for result in pair))
    (counts, errors), (more, wider) = (counts_with_errors(one, "profile_x", 1) for one in pair)
    close((UNIT * counts, UNIT * errors), (more, wider))
    assert [fate.photons for fate in pair[0].fates] == [fate.photons for fate in pair[1].fates]
    close(*(one.share_of(one.fates[1:3]) for one in pair))


def weighted(rng, photons):
    """Return weights [n] of about so many photons; their number is of Poisson's law."""
    return rng.choice(WEIGHTS, rng.poisson(photons), p=OFTEN)


def test_effective_photons_are_kishs():
    """(sum of w)**2 / sum of w**2; by cell, and a pixel has its cell's."""
    w = np.array([1.0, 1.0, 4.0])
    cells, squares = np.zeros((1, 2, 9, 9)), np.zeros((1, 2, 9, 9))
    cells[0, 1, 8, 0], squares[0, 1, 8, 0] = w.sum(), (w**2).sum()
    found = weights.by_cell(Sums(np.ones(1), {"cells": cells, "squares": squares}.__getitem__), 1)
    assert found[0, 8, 0] == 3.0 and (found[0, :8] == 1.0).all()
    panel = np.zeros((16, 30, 6), dtype=np.int64)
    tallies = SimpleNamespace(
        batches={"cells": cells, "squares": squares}, panel=panel, counts_per_photon=2
    )
    by_pixel = weights.by_pixel(tallies, 1)
    assert weights.of_all(tallies, 1) == 3.0 and weights.of_all(tallies, 0) == 2.0
    assert np.argwhere(by_pixel == 3.0).tolist() == [[j, i] for j in (14, 15) for i in (0, 1, 2)]
    assert (by_pixel[:14] == 2.0).all()


def test_noise_of_weighted_blocks_is_that_of_effective_photons():
    rng = np.random.default_rng(6)
    relative = []
    for _ in range(40):
        light = np.zeros((45, 81))
        w = weighted(rng, 60_000)
        np.add.at(light, (rng.integers(45, size=len(w)), rng.integers(81, size=len(w))), w)
        blocks = block_sums(light, 9)
        relative.append((blocks / blocks.mean() - 1.0).ravel())
    stated = block_noise(light * light.sum() / (w**2).sum(), 9)
    assert median_count(light, 9) > 0.0
    squares = np.mean(np.square(relative), axis=1)
    assert_mean(squares, stated**2, known_to=0.05 * stated**2, odds=1e-4, what="noise")


@pytest.mark.parametrize("inside", [0.9, 0.5])
def test_filling_by_weighted_photons_is_as_sure_as_it_says(inside):
    """Two cells, one of them of weighted photons: each strays by its own weights."""
    truth = stop_filled(even_stop(3_000_000, inside), np.ones(1)).value
    found = []
    for seed in range(200):
        rng = np.random.default_rng(seed)
        plain = even_stop(2000, inside, seed)
        w = weighted(rng, 8000)
        stop_sums = np.concatenate([plain, even_stop(len(w), inside, 1000 + seed, w)])
        of_cells = np.array([1.0, (w**2).sum() / w.sum()])
        found.append(stop_filled(stop_sums, of_cells))
    values, errors = np.array([(one.value, one.error) for one in found]).T
    assert_coverage(values, errors, truth, odds=1e-4, what=f"filling of {inside} of the radius")


@pytest.mark.parametrize("kind", ["normal", "disc"])
@pytest.mark.parametrize("photons", [900, 9000])
def test_radius_80_by_weighted_photons_is_as_sure_as_it_says(kind, photons):
    found = []
    for seed in range(200):
        w = weighted(np.random.default_rng(seed), photons)
        places = spot_of(kind, 0.14, len(w), seed)
        mean = np.average(places, weights=w, axis=0)[None]
        of_cell = np.array([(w**2).sum() / w.sum()])
        found.append(radius_80_mm(nested(places, 1.0, w), np.ones(1), mean, of_cell))
    values, errors = np.array([(one.value, one.error) for one in found]).T
    assert_coverage(values, errors, 0.14, odds=1e-4, what=f"80 % radius of a {kind} spot")


def test_blur_of_few_weighted_photons_is_unbiased():
    """The squared blur of a normal spot of 1 mm in x and in y is 2 mm**2, by any weights."""
    rng, found = np.random.default_rng(9), []
    for _ in range(4000):
        w = rng.choice([1, 2], 6)
        d = rng.normal(0.0, 1.0, (2, 6))
        screen = np.zeros((1, 11, 9, 9))
        sums = [w.sum(), 0.0, *(w * d).sum(axis=1), *(w * d**2).sum(axis=1)]
        screen[0, :6, 4, 4] = np.array(sums) * [1.0, 1.0, *[DIRECTION_SCALE] * 4]
        cells, squares = np.zeros((1, 2, 9, 9)), np.zeros((1, 2, 9, 9))
        cells[0, 1, 4, 4], squares[0, 1, 4, 4] = w.sum(), (w**2).sum()
        s = Sums(np.ones(1), {"screen": screen, "cells": cells, "squares": squares}.__getitem__)
        found.append(blur.variance(s)[0, 4, 4])
    assert_mean(found, 2.0, odds=1e-4, what="squared blur")


def blurred(rng, samples, in_a_cell):
    """Return (total, without each sample) of spots, half of whose photons weigh 2 and land far off.

    Derived: their mean square by light is (1 * 2 * 0.5**2 + 2 * 2 * 1.5**2) / (1 + 2) mm**2.
    """
    cell = np.repeat(np.arange(81), rng.poisson(in_a_cell, 81))
    w = rng.choice([1.0, 2.0], len(cell))
    x, y = rng.normal(0.0, w - 0.5, (2, len(cell)))
    of_each = np.stack([w, 0.0 * w, w * x, w * y, w * x * x, w * y * y, w, w * w], axis=-1)
    found = np.zeros((samples, 81, 8))
    np.add.at(found, (rng.integers(samples, size=len(cell)), cell), of_each)
    found = np.moveaxis(found, 2, 1).reshape(samples, 8, 9, 9)
    found[:, 2:6] *= DIRECTION_SCALE
    screen = np.pad(found[:, :6], ((0, 0), (0, 5), (0, 0), (0, 0)))
    lights = {"screen": screen, "cells": found[:, [6, 6]], "squares": found[:, [7, 7]]}
    total = {name: each.sum(axis=0)[None] for name, each in lights.items()}
    without = {name: total[name] - each for name, each in lights.items()}
    return Sums(np.ones(1), total.__getitem__), Sums(np.ones(samples), without.__getitem__)


@pytest.mark.parametrize("in_a_cell", [3, 10])
def test_blur_of_few_photons_that_weigh_more_where_they_land_far_off(in_a_cell):
    """Off by what neither a mean weight nor n - 1 can tell; batches can."""
    optics, found = SimpleNamespace(pixel_mm=0.5), []
    for seed in range(400):
        sums = blurred(np.random.default_rng(seed), 16, in_a_cell)
        blurs = jackknifed(*sums, lambda s: blur.rms_px(s, optics), curved=True)
        found.append(Measured(*blurs, 1).estimate)
    values, errors = np.array([(one.value, one.error) for one in found]).T
    truth, what = np.sqrt(9.5 / 3.0) / 0.5, f"blur of {in_a_cell} photons a cell"
    assert_coverage(values, errors, truth, odds=1e-4, what=what)
    known_to = 0.1 * float(np.mean(errors))
    assert_mean(values, truth, known_to=known_to, odds=1e-4, what=what)


def test_a_place_where_no_photon_came_leaves_an_extreme_without_error():
    """Bars alone light no edge; guided, so few photons leave for it that its strips stay empty."""
    found = trace(scene("a"), photons=1 << 17).estimate("darkest_edge")
    assert found.value == 0.0 and np.isnan(found.error)
    assert found.text() == "0 ± ?"
