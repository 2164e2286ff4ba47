"""What studies come to, in words: the best, those as good within luck, the ends of ranges."""

import numpy as np
import pytest
from scipy.stats import studentized_range

from photonsim.engine import trace
from photonsim.results import Estimate
from photonsim.results.files.study_table import FACT, FIGURE, PARAMETER, Column, StudyTable
from photonsim.studies import Design, compare
from photonsim.studies.comparing.answer import answer, few_digits
from photonsim.studies.comparing.paired import are_paired, difference, ratio
from photonsim.studies.outcomes import FALSE_ALARM, _as_good, sweep_outcome
from tests.chance import assert_mean, assert_proportion
from tests.shipped import scene


def table(places, values, error, remarks=None):
    values = np.array(values, float)
    columns = [
        Column("train.film.z_mm", "film z", "mm", PARAMETER, np.array(places, float)),
        Column("collected_lm", "collected", "lm", FIGURE, values, np.full(len(values), error)),
        Column("photons", "photons", "", FACT, np.where(np.isnan(values), 0, 1000)),
    ]
    if remarks:
        columns.append(Column("remark", "remark", "", FACT, np.array(remarks)))
    return StudyTable("sweep", "", "", tuple(columns))


def told(*arguments):
    return " ".join(sweep_outcome(table(*arguments)).split())


def test_a_best_at_the_end_of_its_range_is_told_with_where_to_try():
    words = told([6, 12, 18], [1.0, 1.1, 1.2], 0.001)
    assert "Best, beyond luck: train.film.z_mm = 18." in words
    assert "lies at the end of the range tried: try train.film.z_mm beyond 18 mm" in words
    assert "try train.film.z_mm below 6 mm" in told([6, 12, 18], [1.2, 1.1, 1.0], 0.001)


def test_a_best_in_the_middle_is_at_no_end():
    assert "end of the range" not in told([6, 12, 18], [1.0, 1.2, 1.1], 0.001)


def test_an_end_is_not_told_where_luck_may_have_chosen_it():
    words = told([6, 12, 18], [1.0, 1.199, 1.2], 0.01)
    assert "1 other may be as good, within train.film.z_mm 12 to 18" in words
    assert "end of the range" not in words
    assert "may be luck alone" in told([6, 12, 18], [1.19, 1.199, 1.2], 0.01)


def test_impossible_designs_are_counted_with_their_reasons():
    why = "train.film.z_mm = -4: must be greater than 0"
    words = told([-4, -2, 12, 18], [np.nan, np.nan, 1.0, 1.2], 0.001, [why, why, "", ""])
    assert f"2 of 4 designs are no possible lamp: {why} (2)." in words


def test_equal_designs_are_told_apart_by_luck_as_seldom_as_it_says():
    """The range of n equal normal values over their error follows the studentized range (Tukey).

    Its upper 1 % for n = 20 is 5.65 (Pearson and Hartley, Biometrika Tables, from memory); pairs
    that share the odds (Bonferroni) may be told apart more seldom, never more often.
    """
    assert studentized_range.ppf(0.99, 20, np.inf) == pytest.approx(5.65, abs=0.01)
    rng = np.random.default_rng(1)
    runs, apart = 2000, 0
    for _ in range(runs):
        column = table(range(20), rng.normal(1.0, 0.01, 20), 0.01)["collected_lm"]
        apart += len(_as_good(column, int(np.argmax(column.values)))) < 20
    # What Bonferroni's boundary lets through, by Tukey's law.
    pairs = 20 * 19
    from scipy.stats import norm

    passed = studentized_range.sf(norm.isf(FALSE_ALARM / pairs) * np.sqrt(2.0), 20, np.inf)
    assert passed < FALSE_ALARM
    assert_proportion(apart, runs, float(passed), what="equal designs told apart")


def test_errors_of_ratios_say_how_far_they_scatter():
    """The mean of scatter over stated variance is 1; other seeds, so that no luck is shared."""
    found = []
    for seed in range(40):
        one = trace(scene("d"), 30_000, seed)
        other = trace(scene("f"), 30_000, seed, guide=one)
        assert are_paired(one, other)
        found.append(ratio(other, one, "collected_lm"))
    values = np.array([estimate.value for estimate in found])
    stated = np.mean([estimate.error**2 for estimate in found])
    scatter = (values - values.mean()) ** 2 * 40 / 39
    assert_mean(scatter / stated, 1.0, odds=1e-5, what="squared scatter over stated")


def test_a_ratio_to_nothing_is_none_and_to_itself_is_one():
    one = trace(scene("d"), 30_000)
    same = ratio(one, one, "collected_lm")
    assert (same.value, same.error) == (1.0, 0.0)
    assert difference(one, one, "collected_lm").value == 0.0


def test_the_answer_names_the_best_and_what_its_light_costs():
    """a: bars alone, whose picture is dark at the edges and striped; d: film; f: a point lamp."""
    designs = [Design(stem, trace(scene(stem), photons=300_000)) for stem in "adf"]
    (words,) = answer(compare(designs))
    assert words.startswith("Most light: 'f', ")
    assert "times as much as 'd', and" in words and "times as much as 'a'." in words
    assert "worse" not in words
    (words,) = answer(compare([designs[0], designs[0]]))
    assert "may be luck" in words
    assert answer(compare(designs[:1])) == []


@pytest.mark.parametrize(
    ("value", "error", "told"),
    [
        (0.937, 0.058, "0.94"),
        (0.748, 0.019, "0.75"),
        (1.7931, 0.00001, "1.79"),
        (25.4671, 0.016, "25.5"),
        (123.37, 0.52, "123"),
        (0.00136, 0.00082, "0.0014"),
        (-0.0003, 0.02, "0.00"),
        (12345.0, 900.0, "12300"),
        (0.0, 0.0, "0.00"),
        (0.6357, float("nan"), "0.636 ± ?"),
        (float("nan"), float("inf"), "too few"),
        (float("nan"), float("nan"), "n/a"),
    ],
)
def test_few_digits_end_where_luck_begins(value, error, told):
    assert few_digits(Estimate(value, error)) == told
