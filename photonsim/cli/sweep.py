"""The command `sweep`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.next_step import BEST, tell_scene
from photonsim.cli.options import FigureCommand, FigureName
from photonsim.cli.output import print_files, print_text
from photonsim.cli.reading import read_scene
from photonsim.cli.study_options import (
    cluster_at,
    leave_table,
    progress_of_points,
    setting_of,
    study_folder,
    study_options,
)


@click.command(cls=FigureCommand)
@takes_scenes("SCENE", "scene")
@click.option(
    "--range",
    "ranges",
    type=(str, float, float, int),
    multiple=True,
    metavar="PATH FROM TO COUNT",
    help="Vary a number in even steps.",
)
@click.option(
    "--values",
    type=(str, str),
    multiple=True,
    metavar="PATH LIST",
    help="Vary a number over a list, such as 8,12,16.",
)
@click.option(
    "--points",
    type=click.Path(path_type=Path),
    help="CSV file with the paths as heading and a line for each design.",
)
@click.option(
    "--sample",
    type=click.IntRange(1),
    metavar="COUNT",
    help="Spread COUNT designs evenly over the ranges instead of tracing a grid.",
)
@click.option(
    "--show",
    type=FigureName(),
    multiple=True,
    metavar="FIGURE",
    help="A figure of merit for the table and the pictures; may be given again.",
)
@study_options(error=0.01)
def sweep(
    scene: Given,
    ranges: tuple[tuple[str, float, float, int], ...],
    values: tuple[tuple[str, str], ...],
    points: Path | None,
    sample: int | None,
    show: tuple[str, ...],
    **given: Any,
) -> None:
    """Vary numbers of a scene, trace every design and leave one table with curves or maps.

    A number is named by its path in the scene file; of strips, gap_mm and count may be varied too.

    \b
    Example, the distance of the film against the width of its gaps:
      photonsim sweep scenes/d_split_film.toml --out ridge \\
        --range train.film.z_mm 6 24 20 --range train.film.strips.gap_mm 1 10 10
    """
    from photonsim.results import ResultError
    from photonsim.studies import sweep as study
    from photonsim.studies.goals import refuse_twice
    from photonsim.studies.outcomes import sure_best, sweep_outcome

    with mistakes_printed(), cluster_at(given.pop("cluster")) as cluster:
        source, found = read_scene(scene)
        refuse_twice([path for path, *_ in ranges] + [path for path, _ in values])
        listed = {path: study.even_steps(low, high, count) for path, low, high, count in ranges}
        listed |= {path: study.numbers_in(text) for path, text in values}
        if points is not None and listed:
            raise ResultError("give either --points or --range and --values")
        if points is None and not listed:
            raise ResultError("nothing varies; give --range, --values or --points")
        if points is not None:
            chosen = study.points_from_csv(points)
        elif sample is not None:
            limits = {path: (min(numbers), max(numbers)) for path, numbers in listed.items()}
            chosen = study.sample(found, limits, sample, given["seed"])
        else:
            chosen = study.grid(listed)
        out, fresh = study_folder(given.pop("out"), scene, "sweep"), given.pop("fresh")
        setting = setting_of(found, given)
        with progress_of_points("sweep") as progress:
            table = study.sweep(
                setting, chosen, out, show, fresh=fresh, cluster=cluster, progress=progress
            )
        print_text(sweep_outcome(table))
        if (best := sure_best(table)) is not None:
            tell_scene(BEST, source, scene, setting.numbers(best))
        print_files(leave_table(table, out))
