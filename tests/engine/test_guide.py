"""Guided emission: cells get just their histories, sums stay exact, and nothing is biased."""

import math

import h5py
import numpy as np
import pytest

from photonsim.engine import sample_paths, trace
from photonsim.engine.pilot import PILOT_PHOTONS, pilot
from photonsim.kernel.allotment import allotted, places_on_curve, smoothed
from photonsim.kernel.emitters import emit, emitted_into
from photonsim.kernel.entry import jit_entry
from photonsim.kernel.guide import weight_of
from photonsim.kernel.random import start
from photonsim.kernel.tallies import BATCH_TALLIES, EMISSION_CELLS, SLOTS
from photonsim.program import Compiled
from photonsim.results import ResultError, load_result
from photonsim.results.files.file import FORMAT
from photonsim.results.files.seal import seal
from tests.chance import ODDS, assert_same_mean
from tests.same_bits import assert_same_bits
from tests.shipped import SCENES, scene

BLOCKS = 3


@jit_entry
def follow_out(program, seed, cells, weights, directions):
    """Write cells [n], weights [n] and (u, v) [n, 2] of new photons."""
    for number in range(cells.shape[0]):
        history = np.uint64(number)
        _, _, _, u, v, _, _ = emit(program, seed, history, start(seed, history))
        cells[number] = emitted_into(program, seed, history)
        weights[number] = weight_of(program, seed, history)
        directions[number, 0], directions[number, 1] = u, v


def let_out(program, count):
    cells, weights = np.empty(count, np.int64), np.empty(count, np.int64)
    directions = np.empty((count, 2))
    follow_out(program, np.uint64(3), cells, weights, directions)
    return cells, weights, directions


def cells_by_geometry(directions):
    """Cells of a Lambertian lobe: 32 rings of one width, ring k (from 1) in 4 (2 k - 1) parts."""
    ring = np.floor(32.0 * np.hypot(*directions.T))
    turn = np.arctan2(directions[:, 1], directions[:, 0]) / (2.0 * math.pi) % 1.0
    return (4 * ring**2 + np.floor(turn * 4 * (2 * ring + 1))).astype(int)


@pytest.fixture(scope="module")
def guide():
    return pilot(scene("d"), 1)


@pytest.fixture(scope="module")
def guided(guide):
    """Cells, weights and directions of three blocks."""
    return let_out(Compiled(scene("d"), guide).program, BLOCKS * SLOTS)


def test_each_cell_gets_its_histories_of_each_block(guide, guided):
    for block in guided[0].reshape(BLOCKS, SLOTS):
        counts = np.bincount(block, minlength=EMISSION_CELLS)
        np.testing.assert_array_equal(counts, 2**guide.doublings)


def test_directions_lie_in_the_cells_that_they_are_counted_in(guided):
    cells, _, directions = guided
    np.testing.assert_array_equal(cells_by_geometry(directions), cells)
    cells, weights, directions = let_out(Compiled(scene("d")).program, 100_000)
    np.testing.assert_array_equal(cells_by_geometry(directions), cells)
    assert (weights == 1).all()


def test_cells_are_filled_evenly_along_and_across(guided):
    """Within its cell a photon is anywhere: the parts of turn and squared radius are uniform.

    So they are to the last history: at 24,576 points whose steps are spread evenly, quarter by
    quarter, nothing can be off by more than luck in the free digits, six standard deviations here.
    """
    squared = 1024.0 * (guided[2] ** 2).sum(axis=1)
    ring = np.floor(np.sqrt(squared))
    across = (squared - ring**2) / (2 * ring + 1)
    turn = np.arctan2(guided[2][:, 1], guided[2][:, 0]) / (2.0 * math.pi) % 1.0
    along = turn * 4 * (2 * ring + 1) % 1.0
    for part in (across, along):
        counts = np.histogram(part, 4, (0.0, 1.0))[0]
        assert (abs(counts - part.size / 4) < 6 * math.sqrt(3 / 16 * part.size)).all()


def test_weights_of_every_256_histories_sum_to_their_photons(guide, guided):
    sums = guided[1].reshape(-1, 256).sum(axis=1)
    assert guide.counts_per_photon > 1
    np.testing.assert_array_equal(sums, 256 * guide.counts_per_photon)
    np.testing.assert_array_equal(guided[1] << guide.doublings[guided[0]], guide.heaviest)
    assert guide.heaviest == 2 * guide.counts_per_photon


@pytest.mark.parametrize("letter", ["a", "b", "d", "f"])
def test_the_allotment_is_the_best_there_is(letter):
    """Its sum of light / n is within 1 % of what no allotment of 8,192 can go below.

    By Lagrange's dual: for any price of a slot, the least of light / n + price n, cell by cell,
    less the price of all slots (Boyd and Vandenberghe, Convex Optimization, section 5.1.3).
    """
    found = pilot(scene(letter), 2)
    each = 2**found.doublings
    assert each.sum() == SLOTS and each.min() >= 1
    assert all((each[each == n].sum()) % 32 == 0 for n in set(each.tolist()))
    light = smoothed(found.collected) + smoothed(found.collected).mean() / 8.0
    choices = 2.0 ** np.arange(7)
    bounds = [
        (light[:, None] / choices + price * choices).min(axis=1).sum() - price * SLOTS
        for price in np.geomspace(1e-3, 1e3, 400) * light.mean()
    ]
    assert max(bounds) <= (light / each).sum() < 1.01 * max(bounds)


def test_neighbours_by_a_search_over_all_cells():
    """What is smoothed is a cell and what lies around it, found by distance on the disc."""
    cells = np.arange(EMISSION_CELLS)
    ring = np.floor(np.sqrt(cells / 4.0))
    turn = 2.0 * math.pi * (cells - 4 * ring**2 + 0.5) / (4 * (2 * ring + 1))
    middles = (ring + 0.5) / 32.0 * np.exp(1j * turn)
    for cell in (0, 5, 100, 1000, 3000, 4095):
        counts = smoothed((cells == cell).astype(np.int64))
        assert counts[cell] >= 1 and 6 <= counts.sum() <= 16
        assert (abs(middles[counts > 0] - middles[cell]) < 3.0 / 32.0).all()
    assert smoothed(np.ones(EMISSION_CELLS, np.int64)).tolist() == [9] * EMISSION_CELLS


def test_slots_of_one_weight_lie_together_and_neighbours_follow_each_other(guide):
    curve = places_on_curve()
    ring = np.floor(np.sqrt(np.arange(EMISSION_CELLS) / 4.0))
    turn = (np.arange(EMISSION_CELLS) - 4 * ring**2 + 0.5) / (4 * (2 * ring + 1))
    places = (ring + 0.5) * np.array([np.cos(2 * np.pi * turn), np.sin(2 * np.pi * turn)])
    # Far from rounding: no middle is near an edge of the curve's squares.
    assert abs(places - np.round(places)).min() > 1e-6
    steps = np.hypot(*np.diff(places[:, np.argsort(curve, kind="stable")], axis=1))
    # Middles are a unit apart at least; a row of a table, ring by ring, would jump as little, but
    # of 16 cells in a row span 16 units: here it is some 4 by 4.
    assert np.mean(steps) < 2.0
    order = np.argsort(curve, kind="stable").reshape(-1, 16)
    spans = [np.ptp(places[:, group], axis=1).max() for group in order]
    assert np.mean(spans) < 6.0
    weights = guide.slots >> 16
    assert (np.diff(weights) >= 0).all()


def test_the_pilot_is_a_function_of_scene_and_seed(guide):
    assert pilot(scene("d"), 1).digest == guide.digest != pilot(scene("d"), 2).digest
    assert guide.photons == PILOT_PHOTONS and "seed 1" in guide.origin


def test_without_gain_there_is_no_guide():
    """A matt box whose light is all mixed: where it was sent out does not matter."""
    even = allotted(np.full(EMISSION_CELLS, 7, dtype=np.int64))
    assert (even == 1).all()
    assert (allotted(np.zeros(EMISSION_CELLS, dtype=np.int64)) == 1).all()


def test_a_guided_run_closes_its_ledger_whatever_ends_it():
    for asked in ({"photons": 1}, {"photons": 5_001}, {"seconds": 0.2}, {"relative_error": 0.02}):
        result = trace(scene("d"), **asked)
        assert result.photons % 256 == 0
        fates = result.tallies.batches["fates"].sum(axis=1)
        sizes = result.tallies.batch_sizes() * result.tallies.counts_per_photon
        np.testing.assert_array_equal(fates, sizes)


def test_a_guide_goes_with_its_result_and_to_others(tmp_path):
    first, second = tmp_path / "first.h5", tmp_path / "second.h5"
    base = trace(scene("d"), 3_000, save_to=first)
    read = load_result(first)
    assert read.guide_digest == base.guide_digest and read.tallies.guide.origin
    assert_same_bits(read, base)
    other = trace(scene("b"), 3_000, guide=read, save_to=second)
    assert other.guide_digest == base.guide_digest
    # Each goes on with the guide that it has, though its own pilot would find another.
    longer = trace(scene("b"), 6_000, save_to=second, resume="saved")
    assert_same_bits(longer, trace(scene("b"), 6_000, guide=base.tallies.guide))
    plain = trace(scene("d"), 3_000, guide="off")
    assert_same_bits(trace(scene("d"), 6_000, resume=plain), trace(scene("d"), 6_000, guide=None))


def test_a_result_guided_otherwise_is_not_continued(tmp_path, capsys):
    target = tmp_path / "lamp.h5"
    guided = trace(scene("d"), 3_000, save_to=target)
    for guiding, why in (("off", "guided otherwise"), (guided, "without a guide")):
        kept = load_result(target)
        with pytest.raises(ResultError, match=why):
            trace(scene("d"), 6_000, guide=guiding, resume=kept)
        trace(scene("d"), 3_000, guide=guiding, save_to=target, resume="saved")
        assert why in " ".join(capsys.readouterr().err.split())
    with pytest.raises(ResultError, match="guide 'left'"):
        trace(scene("d"), 10, guide="left")


def test_replayed_histories_are_those_of_a_guided_run(guide):
    paths = sample_paths(scene("d"), 256, 3, guide=guide)
    _, weights, directions = let_out(Compiled(scene("d"), guide).program, 256)
    result = trace(scene("d"), 256, 3, guide=guide)
    for fate in result.fates:
        met = [path for path in paths if path.fate == fate.name]
        counted = sum(int(weights[path.number]) for path in met)
        assert counted == fate.photons * guide.counts_per_photon
    for path, (u, v) in zip(paths, directions, strict=True):
        step = path.points[1] - path.points[0]
        np.testing.assert_allclose(step[:2] / np.linalg.norm(step), (u, v), atol=1e-9)


@pytest.mark.parametrize(
    ("spoil", "why"),
    [
        (lambda file: file["guide/doublings"].__setitem__(7, 3), "not what the guide's pilot"),
        (lambda file: file["guide/collected"].__setitem__(0, -1), "pilot can't have made"),
        (lambda file: file["guide"].attrs.__setitem__("photons", 0), "a pilot of 0"),
        (lambda file: file["guide"].attrs.__setitem__("origin", "\x1b[2J"), "control characters"),
        (lambda file: file.__delitem__("guide"), "the ledger does not close"),
        (lambda file: file["batches/squares"].__setitem__((0, 0, 0, 0), 1), "weights that"),
    ],
)
def test_a_guide_that_is_not_that_of_the_counts_is_refused(tmp_path, spoil, why):
    target = tmp_path / "lamp.h5"
    trace(scene("d"), 30_000, save_to=target)
    with h5py.File(target, "a") as file:
        spoil(file)
    seal(target, FORMAT)
    with pytest.raises(ResultError, match=why):
        load_result(target)


def test_tallies_of_a_guided_run_agree_with_each_other(tmp_path):
    result = trace(scene("d"), 100_000, save_to=tmp_path / "lamp.h5")
    load_result(tmp_path / "lamp.h5")
    batches, tallies = result.tallies.batches, result.tallies
    np.testing.assert_array_equal(
        tallies.panel[:, :, 2:].sum(axis=(0, 1)), batches["direction_sums"].sum(axis=0)
    )
    landed = batches["screen"].sum(axis=(0, 2, 3))
    assert batches["colours"].sum(axis=(0, 1, 3, 4)).tolist() == landed[[0, 2, 3]].tolist()
    stop = tallies.stop_sums.sum(axis=(0, 1, 2, 3))
    assert stop[:3].tolist() == landed[[0, 2, 3]].tolist()
    rings = batches["rings"].sum(axis=(0, 1, 3, 4))
    assert rings[[0, 1, 2, 4]].tolist() == landed[[0, 2, 3, 1]].tolist() and rings[3] == stop[3]
    without = trace(scene("d"), 100_000, guide="off")
    squares, cells = (without.tallies.batches[name] for name in ("squares", "cells"))
    np.testing.assert_array_equal(squares, cells)


def assert_unbiased(lamp, photons):
    """Fail unless each sum of a guided run, and each of 81 cells, has the mean of an unguided one.

    Every tally by batch, its bins added up but not its kinds of sums; the odds are shared.
    """
    guided, plain = trace(lamp, photons, 11), trace(lamp, photons, 12, guide="off")
    assert guided.tallies.guide is not None
    judged = []
    for tally in BATCH_TALLIES:
        if tally.name in ("events", "squares"):
            continue
        ours, theirs = guided.tallies.batches[tally.name], plain.tallies.batches[tally.name]
        if tally.name != "cells":
            bins = [k + 1 for k, axis in enumerate(tally.axes) if axis.bins and not axis.words]
            ours, theirs = ours.sum(axis=tuple(bins)), theirs.sum(axis=tuple(bins))
        ours, theirs = (each.reshape(len(each), -1).T for each in (ours, theirs))
        names = (f"{tally.name} {k}" for k in range(len(ours)))
        judged += zip(names, ours / guided.tallies.counts_per_photon, theirs, strict=True)
    for name, ours, theirs in judged:
        if theirs.any():
            assert_same_mean(ours, theirs, odds=ODDS / len(judged), what=name)


@pytest.mark.parametrize("letter", ["a", "d", "f"])
def test_nothing_is_biased(letter):
    assert_unbiased(scene(letter), 1 << 22)


@pytest.mark.long
@pytest.mark.parametrize("path", SCENES, ids=lambda path: path.stem)
def test_nothing_is_biased_at_a_hundred_million(path):
    from photonsim import load_scene

    assert_unbiased(load_scene(path), 10**8)
