"""Comparison: paired errors are smaller and right, and luck is not called a difference."""

import csv
import io

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.results import load_result
from photonsim.studies import Design, compare
from photonsim.studies.compare import ledger_shares
from photonsim.studies.paired import are_paired, difference
from photonsim.studies.tables import as_csv, as_markdown, as_text
from tests.chance import assert_mean
from tests.shipped import scene

WIDER = "width_mm = 12.0 => width_mm = 11.6"


@pytest.fixture(scope="module")
def designs():
    return [Design(stem, trace(scene(stem), photons=100_000)) for stem in "adf"]


def test_ranked_by_lumens_with_differences_to_the_first(designs):
    table = compare(designs)
    lumens = [d.result.estimate("collected_lm").value for d in table.designs]
    assert lumens == sorted(lumens, reverse=True)
    assert table.reference.label == "a"
    assert compare(designs, "best").reference.label == "f"


def test_pairing_shrinks_the_error_of_a_small_change():
    """Common random numbers: Var(X - Y) = Var X + Var Y - 2 Cov (Law and Kelton, ch. 11)."""
    one, other = trace(scene("d"), 300_000), trace(scene("d", a=WIDER), 300_000)
    assert are_paired(one, other)
    paired = difference(one, other, "collected_lm").error
    apart = np.hypot(one.estimate("collected_lm").error, other.estimate("collected_lm").error)
    assert paired < 0.6 * apart


def test_paired_errors_say_how_far_differences_scatter():
    found = []
    for seed in range(40):
        one = trace(scene("d"), 30_000, seed)
        other = trace(scene("d", a=WIDER), 30_000, seed)
        found.append(difference(one, other, "near_axis_fraction"))
    values = np.array([estimate.value for estimate in found])
    stated = np.mean([estimate.error**2 for estimate in found])
    scatter = (values - values.mean()) ** 2 * 40 / 39
    assert_mean(scatter / stated, 1.0, odds=1e-5, what="squared scatter over stated")


def test_equal_designs_are_not_called_different():
    one, other = trace(scene("d"), 50_000, 1), trace(scene("d"), 50_000, 2)
    table = compare([Design("one", one), Design("two", other)])
    assert "real" not in {table.verdict(change) for change in table.differences}
    same = compare([Design("one", one), Design("again", one)])
    assert [change.value for change in same.differences if change] == [0.0]
    assert {same.verdict(change) for change in same.differences} == {"reference", "not shown"}


def test_ledger_shares_sum_to_one(designs):
    for design in designs:
        assert sum(ledger_shares(design.result).values()) == pytest.approx(1.0)


def test_tables_say_the_same_in_three_forms(designs, tmp_path):
    designs[0].result.save(tmp_path / "a.h5")
    table = compare([Design("a", load_result(tmp_path / "a.h5")), *designs[1:]])
    text, markdown = as_text(table), as_markdown(table)
    rows = list(csv.DictReader(io.StringIO(as_csv(table))))
    assert [row["design"] for row in rows] == ["f", "d", "a"]
    assert float(rows[0]["collected_lm [lm]"]) > float(rows[1]["collected_lm [lm]"])
    shown = table.designs[0].result.estimate("collected_lm").text()
    assert shown in text and shown in markdown
    assert max(len(line) for line in text.splitlines()) < 190
    widths = {line.count("|") for line in markdown.splitlines() if line.startswith("|")}
    assert len(widths) == 2
