"""Maps by block: the panel is divided evenly, and as finely as the light counted allows."""

import math

import numpy as np
import pytest

from photonsim.results.panel.blocks import (
    BLOCK_NOISE,
    FEWEST_BLOCKS,
    about,
    block_edges,
    block_noise,
    block_shape,
    block_sums,
    columns_for,
    is_fit_to_print,
    photons_for,
    print_columns,
    quiet_columns,
)
from tests.chance import assert_mean

SHAPES = [(272, 480), (1080, 1920), (80, 45), (1, 7), (240, 320), (271, 481)]


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("columns", [1, 9, 17, 36, 48, 60, 10_000])
def test_blocks_hold_every_pixel_once_and_none_is_a_sliver(shape, columns):
    counts = np.random.default_rng(1).integers(0, 5, shape)
    rows, across = block_shape(shape, columns)
    sums = block_sums(counts, columns)
    assert sums.shape == (rows, across)
    edges = block_edges(shape[0], rows), block_edges(shape[1], across)
    for i, j in np.ndindex(sums.shape):
        if (i * across + j) % 37 == 0:  # each by its own pixels; some will do
            block = counts[edges[0][i] : edges[0][i + 1], edges[1][j] : edges[1][j + 1]]
            assert sums[i, j] == block.sum()
    assert sums.sum() == counts.sum()
    for size, places in zip(shape, edges, strict=True):
        assert (places[0], places[-1]) == (0, size)
        assert np.ptp(np.diff(places)) <= 1


def test_blocks_are_nearly_square():
    rows, columns = block_shape((272, 480), 36)
    assert (480 / columns) / (272 / rows) == pytest.approx(1.0, abs=0.03)


def test_a_block_of_n_photons_has_the_noise_that_maps_scatter_by():
    """Poisson: the variance of a count is its mean, so the relative noise is 1/sqrt(n)."""
    rng = np.random.default_rng(5)
    counts = rng.poisson(2.0, (272, 480))
    stated = block_noise(counts, 30)
    blocks = block_sums(counts, 30) / (block_sums(np.ones_like(counts), 30) * 2.0) - 1.0
    assert_mean(blocks.ravel() ** 2, stated**2, known_to=0.02 * stated**2, odds=1e-4, what="noise")


def test_more_photons_make_finer_blocks_down_to_the_noise_that_is_allowed():
    # A photon in each of 160 x 90 pixels: blocks of 10 x 10 hold 100, hence 10 % of noise.
    one = np.ones((90, 160), dtype=np.int64)
    assert quiet_columns(one, 0.1, 64) == 16
    assert quiet_columns(4 * one, 0.1, 64) == 32
    assert quiet_columns(100 * one, 0.1, 64) == 64
    assert quiet_columns(0 * one, 0.1, 64) == 9
    assert quiet_columns(np.ones((7, 4), dtype=np.int64), 0.1, 64) == 4


def test_the_median_block_is_quiet_also_where_most_of_the_panel_is_dim():
    # 4 of 5 columns of pixels hold a tenth of the fifth's light.
    counts = np.full((272, 480), 2, dtype=np.int64)
    counts[:, 384:] = 20
    columns = quiet_columns(counts, BLOCK_NOISE, 60)
    blocks = block_sums(counts, columns)
    assert np.mean(blocks >= 400) >= 0.5
    assert np.median(block_sums(counts, columns + 2)) < 400


def test_a_map_fit_to_print_takes_so_many_collected_photons():
    """2,000 blocks to 3 %: 2000/0.03**2 = 2.22 million photons, by arithmetic."""
    shape = (272, 480)
    columns = print_columns(shape)
    blocks = math.prod(block_shape(shape, columns))
    assert 2000 <= blocks <= 2100
    photons = blocks / 0.03**2
    assert is_fit_to_print(np.full(shape, math.ceil(photons / (272 * 480)) + 1))
    assert not is_fit_to_print(np.full(shape, math.floor(photons / (272 * 480))))
    assert not is_fit_to_print(np.zeros(shape, dtype=np.int64))


@pytest.mark.parametrize("mean", [0.05, 0.5, 5.0])
def test_the_forecast_holds_from_few_photons_on(mean):
    """Even light: blocks/noise**2 photons must be counted, of which `mean` a pixel are there."""
    shape = (272, 480)
    counts = np.random.default_rng(3).poisson(mean, shape)
    blocks = math.prod(block_shape(shape, columns_for(shape, FEWEST_BLOCKS)))
    true = 10**6 * blocks / 0.05**2 / (mean * 272 * 480)
    found = photons_for(counts, 10**6, FEWEST_BLOCKS, 0.05)
    assert found == pytest.approx(true, rel=0.05)
    assert math.isinf(photons_for(0 * counts, 10**6, FEWEST_BLOCKS, 0.05))


def test_forecasts_are_told_in_two_digits_rounded_up():
    assert about(104_300_001.0) == "about 110,000,000"
    assert about(12.0) == "about 12"
    assert about(0.3) == "about 1"
