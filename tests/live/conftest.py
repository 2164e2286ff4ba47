"""Lamps in a folder of their own, and the model of a page on one of them."""

import pytest

from tests.live.visitor import SCENES, model_of


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
