"""The command `tune`."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.options import FigureName
from photonsim.cli.output import print_files, write_text
from photonsim.cli.reading import read_scene
from photonsim.cli.study_options import cluster_at, leave_table, setting_of, study_options

if TYPE_CHECKING:
    from photonsim.studies.search import Search, TrialProgress


@click.command()
@click.argument("scene", metavar="SCENE")
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
    scene: str,
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
    Example, the most light that a strip layout gives with a structure of 25 % at most:
      photonsim tune scenes/d_split_film.toml --out tuned --most collected_lm \\
        --at-most structure 25 --between train.film.z_mm 8 24 \\
        --between train.film.strips.gap_mm 1 12 --between train.film.strips.offset_mm 6 12
    """
    from photonsim.studies.goals import Goal, Limit, bounds_of
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
        out, fresh = given.pop("out"), given.pop("fresh")
        setting = setting_of(found, given)
        table, tuned = run(
            setting, search, out, fresh=fresh, cluster=cluster, progress=_trial_printer(search)
        )
        leave_table(table, out)
        if len(goals) > 1:
            return
        if tuned is None:
            click.echo("no design within the limits was found; widen a range or a limit", err=True)
            sys.exit(1)
        target = out / f"{path.stem}_tuned.toml"
        write_text(target, winning_text(found, search, tuned, dict(setting.ties)))
        print_files([target])
        _print_winner(tuned)


def _trial_printer(search: Search) -> TrialProgress:
    """Return a function that tells every trial that leads, and now and then how far things are."""
    import time

    from photonsim.engine.stop_rule import duration
    from photonsim.results import FIGURES
    from photonsim.studies.points import estimate_in
    from photonsim.studies.tune import missed

    began = time.monotonic()
    spoke = [began]

    def show(done: int, total: int, record: dict[str, Any], leads: bool) -> None:
        now = time.monotonic()
        if not (leads or now - spoke[0] > 10.0 or done == total):
            return
        spoke[0] = now
        parts = []
        for goal in search.goals:
            figure = FIGURES[goal.figure]
            estimate = estimate_in(record, goal.figure)
            parts.append(f"{figure.words} {estimate.text(figure.scale, figure.unit)}")
        numbers = ", ".join(f"{path} {value:g}" for path, value in record["point"].items())
        state = "best so far" if leads else missed(record, search)
        rest = duration((now - began) / done * (total - done))
        click.echo(
            f"trial {done} of {total}: {', '.join(parts)} {'(' + state + ')' if state else ''} at "
            f"{numbers}; {rest} left",
            err=True,
        )

    return show


def _print_winner(tuned: Any) -> None:
    from photonsim.studies.tune import gain_lines

    click.echo("the winner, traced afresh, and its change from the scene as it was:")
    for path, value in tuned.point.items():
        click.echo(f"  {path} = {value:g}")
    for line in gain_lines(tuned):
        click.echo(f"  {line}")
    if not tuned.within_limits:
        click.echo(
            "but its fresh figures miss a limit: search with a smaller --relative-error", err=True
        )
