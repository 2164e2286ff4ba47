"""Comparison: paired errors are smaller and right, and luck is not called a difference."""

import csv
import io
import itertools

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.results import Estimate, load_result
from photonsim.results.remarks.caveats import mean_weight
from photonsim.studies import Design, compare
from photonsim.studies.comparing.compare import ledger_shares
from photonsim.studies.comparing.paired import are_paired, difference
from photonsim.studies.comparing.tables import (
    as_csv,
    as_markdown,
    as_text,
    figure_rows,
    ledger_rows,
)
from tests.chance import assert_mean
from tests.shipped import scene

WIDER = "width_mm = 12.0 => width_mm = 11.6"


@pytest.fixture(scope="module")
def designs():
    first = trace(scene("a"), photons=100_000)
    others = [trace(scene(stem), photons=100_000, guide=first) for stem in "df"]
    return [Design(stem, result) for stem, result in zip("adf", [first, *others], strict=True)]


def test_ranked_by_lumens_with_differences_to_the_first(designs):
    table = compare(designs)
    lumens = [d.result.estimate("collected_lm").value for d in table.designs]
    assert lumens == sorted(lumens, reverse=True)
    assert table.reference.label == "a"
    assert compare(designs, "best").reference.label == "f"


def test_pairing_shrinks_the_error_of_a_small_change():
    """Common random numbers: Var(X - Y) = Var X + Var Y - 2 Cov (Law and Kelton, ch. 11)."""
    one = trace(scene("d"), 300_000)
    other = trace(scene("d", a=WIDER), 300_000, guide=one)
    assert are_paired(one, other)
    paired = difference(one, other, "collected_lm").error
    apart = np.hypot(one.estimate("collected_lm").error, other.estimate("collected_lm").error)
    assert paired < 0.6 * apart


def test_paired_errors_say_how_far_differences_scatter():
    found = []
    for seed in range(40):
        one = trace(scene("d"), 30_000, seed)
        other = trace(scene("d", a=WIDER), 30_000, seed, guide=one)
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


def test_differences_are_each_design_less_the_reference(designs):
    table = compare(designs)
    for design, change in zip(table.designs, table.differences, strict=True):
        if design.label == "a":
            assert change is None
            continue
        assert change.value > 0.0  # the bars alone collect least
        own = [d.result.estimate("collected_lm").value for d in (design, designs[0])]
        assert change.value == pytest.approx(own[0] - own[1])


def test_errors_of_runs_of_their_own_add_in_quadrature():
    """Var(X - Y) = Var X + Var Y for independent X and Y: for two equal runs 1.41 of each error."""
    one, other = trace(scene("d"), 100_000, 1), trace(scene("d"), 100_000, 2)
    errors = [result.estimate("collected_lm").error for result in (one, other)]
    found = difference(one, other, "collected_lm").error
    assert found**2 == pytest.approx(errors[0] ** 2 + errors[1] ** 2)


class Known:
    """A result of which only the figures are known; no two share their luck."""

    photons, count, fates, guide_digest = 1, itertools.count(), (), ""
    scene = scene("a")

    def __init__(self, value, error, degrees=float("inf")):
        self.found, self.seed = Estimate(value, error, degrees), next(self.count)

    def estimate(self, name):
        return self.found


@pytest.mark.parametrize(
    ("others", "degrees", "boundary"),
    # Two-sided 1 %, and 1 % over 9 differences; normal law, and Student's t of 10 degrees (tables).
    [(1, float("inf"), 2.576), (9, float("inf"), 3.261), (1, 10, 3.169), (9, 10, 4.503)],
)
def test_real_is_what_luck_makes_once_in_a_hundred_tables(others, degrees, boundary):
    """Bonferroni; with few batches Student's t."""
    for reach, word in ((0.995, "not shown"), (1.005, "real")):
        value = 10.0 + reach * boundary
        designs = [Design("reference", Known(10.0, 0.0)), Design("one", Known(value, 1.0, degrees))]
        designs += [Design(f"{k}", Known(10.0, 1.0, degrees)) for k in range(others - 1)]
        table = compare(designs)
        place = [design.label for design in table.designs].index("one")
        assert table.verdict(table.differences[place]) == word


def test_each_row_of_a_table_holds_its_own_design(designs):
    """Shares stand in per cent, and the light of a design in its own row."""
    table = compare(designs)
    rows = list(csv.DictReader(io.StringIO(as_csv(table))))
    heads, *figures = figure_rows(table)
    ledger_heads, *ledger = ledger_rows(table)
    for rank, (row, printed, shares) in enumerate(zip(rows, figures, ledger, strict=True), 1):
        result = next(design.result for design in designs if design.label == row["design"])
        assert printed[:2] == shares[:2] == [str(rank), row["design"]]
        counted = 100.0 * result.tallies.batches["collected"].sum() / result.emitted
        share = printed[heads.index("collected fraction, %")]
        assert float(share.split(" ±")[0]) == pytest.approx(counted, rel=0.02)
        assert float(row["collected_fraction [%]"]) == pytest.approx(counted)
        # A share by photons of weight w has sqrt(p (w - p) / n) at most: emission is spread evenly.
        p = counted / 100.0
        largest = 100.0 * (p * (mean_weight(result) - p) / result.photons) ** 0.5
        assert 0.2 * largest < float(row["collected_fraction error [%]"]) < 1.3 * largest
        through = shares[ledger_heads.index("through the stop")]
        assert float(through) == pytest.approx(counted, abs=0.051)
        assert float(row["through the stop [%]"]) == pytest.approx(counted)
        assert sum(float(cell) for cell in shares[2:-1]) == pytest.approx(100.0, abs=0.3)


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
