"""The short form of `python -m tests.planted`: the tests can fail."""

import pytest

from tests.planted.__main__ import caught_by
from tests.planted.faults import FAULTS, QUICK


def test_there_are_faults_enough():
    assert len({fault.name for fault in FAULTS}) >= 25


@pytest.mark.parametrize("name", QUICK)
def test_a_planted_fault_is_caught(name):
    assert caught_by(next(fault for fault in FAULTS if fault.name == name))
