"""Every public docstring has an example, and it runs as it stands."""

import doctest
import importlib
import inspect
import shutil
from pathlib import Path

import pytest

import photonsim

SCENES = Path(__file__).parents[1] / "scenes"
# What is no function, or needs other machines.
WITHOUT = {"__version__", "FIGURES", "figures", "trace_on_cluster"}
# What functions alone make, whose examples show it, and what is raised.
MADE = {
    *("Cluster", "Comparison", "CuttingPlan", "Fit", "KitchenLens", "RaceOutcome", "StudyTable"),
    *("SupplyPlan", "Tuning", "ResultError", "SceneError"),
}


def documented(name):
    """The public object of a name, and what of it has a docstring with an example."""
    found = getattr(photonsim, name)
    module = importlib.import_module(found.__module__)
    return doctest.DocTestFinder().find(found, name, module, {})


@pytest.fixture(autouse=True)
def a_folder_of_ones_own(monkeypatch, tmp_path):
    """Where the shipped scenes lie, and files may be written."""
    shutil.copytree(SCENES, tmp_path / "scenes", ignore=shutil.ignore_patterns("*.png", "*.svg"))
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize("name", sorted(set(photonsim.__all__) - WITHOUT))
def test_examples_run(name):
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE)
    for test in documented(name):
        runner.run(test)
    assert runner.summarize(verbose=False).failed == 0


def test_the_example_of_the_package_runs():
    assert doctest.testmod(photonsim).failed == 0


@pytest.mark.parametrize("name", sorted(set(photonsim.__all__) - WITHOUT - MADE))
def test_functions_and_what_scenes_are_made_of_have_an_example(name):
    assert ">>>" in (inspect.getdoc(getattr(photonsim, name)) or "")
