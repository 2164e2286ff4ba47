"""The page in a browser: on a phone, on a desk and on paper; and small enough to send."""

from itertools import islice
from pathlib import Path

import numpy as np
import pytest

from photonsim.engine import sample_paths, trace
from photonsim.report import compose, save_write_up
from photonsim.results.files.study_table import Column, StudyTable
from photonsim.scene import load_scene
from tests.report.browser import pages_printed, too_wide

SHIPPED = sorted((Path(__file__).parents[2] / "scenes").glob("*.toml"))
MOST_BYTES = 2_000_000


def sweep_of(scene):
    heights = np.linspace(8.0, 20.0, 7)
    light = 1.0 - 0.01 * (heights - 12.0) ** 2
    return StudyTable("sweep", scene.title, scene.text, (
        Column("train.film.z_mm", "film, z", "mm", "parameter", heights),
        Column("collected_lm", "collected", "lm", "figure", light, np.full(7, 0.01)),
    ))  # fmt: skip


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """The page of one design, of nine with a study, and of all ten, by their number."""
    scenes = [load_scene(path) for path in SHIPPED[:10]]
    traced = [(scene.title, trace(scene, photons=30_000)) for scene in scenes]
    studies = {1: [], 9: [sweep_of(scenes[3])], 10: []}
    one = traced[3:4]
    found = {}
    for count, tables in studies.items():
        folder = tmp_path_factory.mktemp(f"of{count}")
        results = one if count == 1 else list(islice(traced, count))
        found[count] = save_write_up(compose(results, sample_paths, tables), folder)[0]
    return found


def test_ten_designs_are_small_enough_to_send(pages):
    assert pages[10].stat().st_size < MOST_BYTES


@pytest.mark.parametrize(("count", "most"), [(1, 4), (9, 8)])
def test_it_prints_on_a_few_pages(pages, tmp_path, count, most):
    assert 1 < pages_printed(pages[count], tmp_path) <= most


@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("count", [1, 10])
def test_nothing_is_wider_than_the_window(pages, tmp_path, count, width):
    tags, across = too_wide(pages[count], tmp_path, width)
    assert tags == [] and across <= width
