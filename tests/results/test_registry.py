"""Figures of merit: found by name, by words and by name of old, and shown as declared."""

import csv
import io
import json
import pickle

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.cli.options import FigureName
from photonsim.engine import StopRule, trace
from photonsim.figures import draw_designs
from photonsim.report.sections import figures as report_section
from photonsim.results import FIGURES, Figure, ResultError, Shown, figure_named
from photonsim.results.figure_names import NAMES_OF_OLD
from photonsim.studies import Design, compare
from photonsim.studies.comparing import tables
from photonsim.studies.comparing.race import RaceRule
from photonsim.studies.effort import Effort
from photonsim.studies.goals import Goal
from photonsim.studies.points import Setting, estimate_in, record_of
from photonsim.studies.sweep import sweep
from tests.shipped import SCENES
from tests.shipped import scene as shipped

PHOTONS = 1 << 17
MILLI = Figure(
    "missed_lm",
    "missed",
    lambda s, optics: (s.incident - s.collected) / s.photons * optics.flux_lm * 1000.0,
    "mlm",
    better=-1,
    shown=Shown.EVERYWHERE,
    meaning="light at the panel that the stop does not take",
)


@pytest.fixture(scope="module")
def result():
    return trace(shipped("d_"), photons=PHOTONS)


@pytest.mark.parametrize("figure", FIGURES.values(), ids=FIGURES)
def test_a_figure_is_asked_for_by_its_name_its_words_or_any_heading(figure, result):
    """By whatever stands over a column, unit and all: in the terminal, in Python, in a CSV."""
    column = f"{figure.name} [{figure.unit}]"
    shouted = figure.name.upper().replace("_", "-")
    for words in (figure.name, figure.words, figure.heading, column, shouted):
        assert figure_named(words) is figure
        assert FigureName().convert(words, None, None) == figure.name
        assert repr(result.estimate(words)) == repr(result.estimate(figure.name))


def test_every_option_that_names_a_figure_takes_those_words():
    kinds = {}
    for command in main.commands.values():
        for option in command.params:
            takes = getattr(option.type, "types", [option.type])
            if "FIGURE" in (option.metavar or "") or option.name == "figure":
                kinds[command.name, option.name] = isinstance(takes[0], FigureName)
    assert {name for _, name in kinds} >= {"figure", "show", "most", "least", "at_most"}
    assert all(kinds.values()), kinds


@pytest.mark.parametrize("figure", FIGURES.values(), ids=FIGURES)
def test_the_words_of_a_heading_are_those_of_the_name(figure):
    """Who reads a heading need not guess the name: all its words stand there, in order."""
    said = iter(figure.words.lower().replace("-", " ").replace(",", "").replace("/", " ").split())
    name = [word for word in figure.name.split("_") if word not in ("lm", "deg")]
    assert all(word in said for word in name)


@pytest.mark.parametrize(("old", "new"), NAMES_OF_OLD.items())
def test_names_of_0_3_0_still_hold(old, new, result):
    assert figure_named(old).name == new
    assert result.estimate(old) == result.estimate(new)
    assert Goal(old, 1) == Goal(new, 1)
    assert RaceRule(old).figure == StopRule(figure=old).figure == Effort(figure=old).figure == new


@pytest.mark.parametrize(
    ("wrong", "near"),
    [
        ("strukture", "structure"),
        ("unifromity", "uniformity"),
        ("darkest rim", "darkest_edge"),
        ("RMS angel", "rms_angle_deg"),
        ("collected lumens", "collected_lm"),
    ],
)
def test_a_slip_of_the_pen_is_told_what_is_near(wrong, near):
    with pytest.raises(ResultError, match=f"no figure '{wrong}'; did you mean .*{near}"):
        figure_named(wrong)


@pytest.mark.parametrize(
    "asked",
    [
        ["trace", "--figure", "evenes"],
        ["compare", "--figure", "evenes"],
        ["race", "--figure", "evenes", "--out", "x"],
        ["sweep", "--values", "train.stop.z_mm", "2", "--show", "evenes", "--out", "x"],
        ["tune", "--at-most", "evenes", "1", "--out", "x"],
        [
            "tolerance",
            "--within",
            "train.stop.z_mm",
            "1",
            "--at-least",
            "evenes",
            "1",
            "--out",
            "x",
        ],
    ],
    ids=lambda asked: asked[0],
)
def test_every_option_checks_the_name_before_anything_is_read(asked):
    done = CliRunner().invoke(main, [asked[0], "nowhere.toml", *asked[1:]])
    assert done.exit_code == 2
    assert "no figure 'evenes'; did you mean uniformity" in done.output


def test_the_figure_of_a_stop_rule_is_printed(tmp_path):
    words = ["--figure", "Acceptance, %", "--relative-error", "0.5", "--out", str(tmp_path)]
    for command in ("trace", "compare"):
        done = CliRunner().invoke(main, [command, str(SCENES[0]), *words])
        assert done.exit_code == 0, done.output
        assert "acceptance" in done.output.replace("relative error of acceptance", "")


def test_the_figure_that_a_study_is_traced_to_stands_in_its_table():
    setting = Setting(shipped("a_"), Effort(0.5, "acceptance", 1 << 16))
    table = sweep(setting, [{"train.stop.z_mm": 150.0}], figures=["structure"])
    assert [column.name for column in table.with_role("figure")] == ["structure", "acceptance"]


def test_a_figure_declared_in_one_place_shows_wherever_it_says(result, monkeypatch, tmp_path):
    monkeypatch.setitem(FIGURES, MILLI.name, MILLI)
    value = result.estimate("missed").value
    lumens = (
        result.estimate("incident_fraction").value - result.estimate("collected_fraction").value
    )
    assert value == pytest.approx(lumens * 900.0 * 1000.0)

    traced = CliRunner().invoke(
        main, ["trace", str(SCENES[3]), "--photons", str(PHOTONS), "--out", str(tmp_path)]
    )
    assert f"missed              {result.estimate('missed_lm').text(1.0, 'mlm')}" in traced.output

    table = compare([Design("d", result)])
    assert "missed, mlm" in tables.short_rows(table)[0]
    assert "missed, mlm" in tables.as_markdown(table)
    told = " ".join(tables.as_text(table, verbose=True).split())
    assert "missed: light at the panel that the stop does not take." in told
    (row,) = csv.DictReader(io.StringIO(tables.as_csv(table)))
    assert float(row["missed_lm [mlm]"]) == pytest.approx(value)
    assert float(row["missed_lm error [mlm]"]) > 0.0

    setting = Setting(result.scene, Effort(0.5, most_photons=1 << 16))
    swept = sweep(setting, [{"train.film.z_mm": 14.0}])
    assert swept["missed_lm"].heading == "missed, mlm"
    assert "missed_lm [mlm],missed_lm error [mlm]" in swept.as_csv()

    every = report_section(table).blocks[-1].blocks[0]
    assert ("missed", result.estimate("missed").text(1.0, "mlm"), MILLI.meaning) in every.rows

    panes = draw_designs([("d", result)]).axes
    heads = [" ".join(axes.get_title("left").split()) for axes in panes]
    assert "missed, mlm less is better" in heads

    for goal in (Goal("missed", -1), Goal("missed_lm", -1)):
        assert goal.words() == "least missed_lm"


def test_a_study_made_before_there_was_a_figure_is_told_in_a_sentence(result, monkeypatch):
    record = json.loads(json.dumps(record_of(result)))
    monkeypatch.setitem(FIGURES, MILLI.name, MILLI)
    with pytest.raises(ResultError, match=r"missed \(missed_lm\): .* before there was this figure"):
        estimate_in(record, "missed_lm")


def test_a_result_that_was_asked_for_all_figures_goes_to_another_process():
    result = trace(shipped("d"), photons=1 << 14)
    asked = [str(result.estimate(name)) for name in FIGURES]
    sent = pickle.loads(pickle.dumps(result))
    assert [str(sent.estimate(name)) for name in FIGURES] == asked
