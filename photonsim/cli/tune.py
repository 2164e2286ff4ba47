"""The command `tune`."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.next_step import tell_compare, tell_scene
from photonsim.cli.options import FigureCommand, FigureName
from photonsim.cli.output import bar, print_files, print_remark, print_text, write_text
from photonsim.cli.reading import read_scene
from photonsim.cli.study_options import (
    cluster_at,
    leave_table,
    setting_of,
    study_folder,
    study_options,
)

if TYPE_CHECKING:
    from photonsim.studies.search import Search, TrialProgress


@click.command(cls=FigureCommand)
@takes_scenes("SCENE", "scene")
@click.option(
    "--most", type=FigureName(), multiple=True, metavar="FIGURE", help="Have most of this figure."
)
@click.option(
    "--least", type=FigureName(), multiple=True, metavar="FIGURE", help="Have least of this figure."
)
@click.option(
    "--at-least",
    type=(FigureName(), float),
    multiple=True,
    metavar="FIGURE VALUE",
    help="A limit, in the unit that tables print.",
)
@click.option(
    "--at-most",
    type=(FigureName(), float),
    multiple=True,
    metavar="FIGURE VALUE",
    help="A limit, in the unit that tables print.",
)
@click.option(
    "--between",
    type=(str, float, float),
    multiple=True,
    metavar="PATH LOW HIGH",
    help="A number that may change, and its range.",
)
@click.option(
    "--trials",
    type=click.IntRange(1, 100_000),
    default=150,
    show_default=True,
    help="Designs to try.",
)
@click.option(
    "--together",
    type=click.IntRange(1, 1000),
    default=1,
    show_default=True,
    help="Designs to try at a time; on a cluster, as many as it has cores.",
)
@study_options(error=0.01)
def tune(
    scene: Given,
    most: tuple[str, ...],
    least: tuple[str, ...],
    at_least: tuple[tuple[str, float], ...],
    at_most: tuple[tuple[str, float], ...],
    between: tuple[tuple[str, float, float], ...],
    trials: int,
    together: int,
    **given: Any,
) -> None:
    """Search for the best design within limits, or for the front between two or three goals.

    One --most or --least gives the winning scene, with the comments of the one it began with and
    with figures traced afresh; several give the designs between which only taste can choose.

    \b
    Example, the most light that strips give with a structure of 25 % at most:
      photonsim tune scenes/d_split_film.toml --out tuned --most collected_lm \\
        --at-most structure 25 --between train.film.z_mm 8 24 \\
        --between train.film.strips.gap_mm 1 12 \\
        --between train.film.strips.offset_mm 6 12
    """
    from photonsim.results.files.study_table import PARAMETER
    from photonsim.studies.goals import Goal, Limit, bounds_of
    from photonsim.studies.outcomes import front_outcome, ranked_front, tune_outcome
    from photonsim.studies.search import Search
    from photonsim.studies.tune import tune as run
    from photonsim.studies.tune import winning_text

    with mistakes_printed(), cluster_at(given.pop("cluster")) as cluster:
        path, found = read_scene(scene)
        goals = [Goal(name, 1) for name in most] + [Goal(name, -1) for name in least]
        limits = [Limit(name, 1, value) for name, value in at_least]
        limits += [Limit(name, -1, value) for name, value in at_most]
        search = Search(
            tuple(goals), tuple(limits), tuple(bounds_of(found, between)), trials, together
        )
        out, fresh = study_folder(given.pop("out"), scene, "tune"), given.pop("fresh")
        setting = setting_of(found, given)
        with trial_bar(search) as progress:
            table, tuned = run(
                setting, search, out, fresh=fresh, cluster=cluster, progress=progress
            )
        several = len(goals) > 1
        print_text(front_outcome(table, search) if several else tune_outcome(table, search, tuned))
        files = leave_table(table, out)
        if several and (ranked := ranked_front(table, search)):
            columns = table.with_role(PARAMETER)
            numbers = {column.name: float(column.values[ranked[0]]) for column in columns}
            tell_scene("No. 1 as a scene of its own:", path, scene, setting.numbers(numbers))
        if tuned is not None:
            files.append(out / f"{path.stem}_tuned.toml")
            if tuned.gains[goals[0].figure].value:
                tell_compare(path, files[-1])
            write_text(files[-1], winning_text(found, search, tuned, dict(setting.ties)))
        print_files(files)
        if tuned is None and not several:
            sys.exit(1)


@contextmanager
def trial_bar(search: Search) -> Iterator[TrialProgress]:
    """Give a function that moves a bar on, or without a terminal tells every trial that leads."""
    from photonsim.results import FIGURES
    from photonsim.studies.points import estimate_in

    goals = [FIGURES[goal.figure] for goal in search.goals]
    with bar("tune", "designs", search.trials) as shown:

        def show(done: int, total: int, record: dict[str, Any], leads: bool) -> None:
            parts = [
                f"{figure.words} {estimate_in(record, figure.name).text(figure.scale, figure.unit)}"
                for figure in goals
            ]
            if len(goals) > 1:
                pass
            elif leads and shown.disable:
                print_remark(f"design {done} of {total} is the best so far: {', '.join(parts)}")
            elif leads:
                shown.set_postfix_str(f"best {', '.join(parts)}", refresh=False)
            shown.update(done - shown.n)

        yield show
