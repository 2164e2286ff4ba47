"""The short form of `python -m tests.planted`: the tests can fail."""

import pytest

from tests.planted.__main__ import ROOT, caught_by
from tests.planted.faults import FAULTS, QUICK


def test_there_are_faults_enough():
    assert len({fault.name for fault in FAULTS}) >= 25


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.name)
def test_every_fault_can_be_planted_and_its_tests_are_there(fault):
    """The sources move on; a fault that fits nowhere any more would only be found by hand."""
    assert (ROOT / "photonsim" / fault.path).read_text("utf-8").count(fault.right) == 1
    for test in fault.tests:
        path, _, name = test.partition("::")
        assert f"def {name}" in (ROOT / path).read_text("utf-8")


@pytest.mark.parametrize("name", QUICK)
def test_a_planted_fault_is_caught(name, tmp_path):
    assert caught_by(next(fault for fault in FAULTS if fault.name == name), tmp_path)
