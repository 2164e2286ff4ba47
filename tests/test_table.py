"""The table of checks: what assertions have found is read from how pytest writes them out."""

import numpy as np
import pytest

from tests.table import _FOUND, NotingApprox, note_assertion


@pytest.mark.parametrize(
    ("found", "expected", "given", "figures"),
    [
        (
            39.08828,
            39.088,
            {"abs": 5e-4},
            "expected 39.088, found 39.08828 (± 0.0005 allowed, relative difference +7.2e-06)",
        ),
        (1e-14, 0.0, {}, "expected 0, found 1e-14 (± 1e-12 allowed, difference +1.0e-14)"),
        (
            np.array([1.0, 2.02]),
            [1.0, 2.0],
            {"rel": 0.1},
            "expected 2, found 2.02 (± 0.2 allowed, relative difference +1.0e-02)",
        ),
    ],
)
def test_what_is_compared_nearly_is_shown_with_its_figures(found, expected, given, figures):
    assert found == NotingApprox(expected, **given)
    assert _FOUND[-1].figures == figures


def test_what_is_not_near_is_still_refused():
    assert np.array([1.0, 2.1]) != NotingApprox([1.0, 2.0])
    assert NotingApprox(1.0) != "word"


def test_any_other_assertion_is_shown_as_it_was_written_out():
    note_assertion("np.float64(0.0004) < 0.001\n +  where 0.0004 = gap()")
    assert _FOUND[-1].figures == "holds: 0.0004 < 0.001"
