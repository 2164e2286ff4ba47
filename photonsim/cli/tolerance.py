"""The command `tolerance`."""

from __future__ import annotations

from typing import Any

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
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
    "--within",
    type=(str, float),
    multiple=True,
    metavar="PATH REACH",
    help="A number that may be off by up to REACH either way, all alike likely.",
)
@click.option(
    "--about",
    type=(str, float),
    multiple=True,
    metavar="PATH DEVIATION",
    help="A number that scatters normally with this standard deviation.",
)
@click.option(
    "--builds",
    type=click.IntRange(100, 1_000_000),
    default=200,
    show_default=True,
    help="Builds to trace.",
)
@click.option(
    "--at-least",
    type=(FigureName(), float),
    multiple=True,
    metavar="FIGURE VALUE",
    help="A limit for the yield, in the unit that tables print.",
)
@click.option(
    "--at-most",
    type=(FigureName(), float),
    multiple=True,
    metavar="FIGURE VALUE",
    help="A limit for the yield, in the unit that tables print.",
)
@click.option(
    "--show",
    type=FigureName(),
    multiple=True,
    metavar="FIGURE",
    help="A figure of merit for the table and the pictures; may be given again.",
)
@study_options(error=0.005)
def tolerance(
    scene: Given,
    within: tuple[tuple[str, float], ...],
    about: tuple[tuple[str, float], ...],
    builds: int,
    at_least: tuple[tuple[str, float], ...],
    at_most: tuple[tuple[str, float], ...],
    show: tuple[str, ...],
    **given: Any,
) -> None:
    """Trace many builds of a scene, each a little off: the scatter, the yield, and what matters.

    The shares say how much of a figure's variance each number brings about on its own: what has a
    large share is worth measuring carefully, the rest may be cut by eye.

    \b
    Example:
      photonsim tolerance scenes/d_split_film.toml --out slack \\
        --within train.film.z_mm 1 --within train.film.strips.gap_mm 0.5 \\
        --about housing.walls.reflectance 0.02 --at-least collected_lm 1.05
    """
    from photonsim.studies import tolerance as study
    from photonsim.studies.goals import Limit

    with mistakes_printed(), cluster_at(given.pop("cluster")) as cluster:
        _, found = read_scene(scene)
        tolerances = [study.Tolerance(path, reach) for path, reach in within]
        tolerances += [study.Tolerance(path, deviation, True) for path, deviation in about]
        limits = [Limit(name, 1, value) for name, value in at_least]
        limits += [Limit(name, -1, value) for name, value in at_most]
        out, fresh = study_folder(given.pop("out"), scene, "tolerance"), given.pop("fresh")
        setting = setting_of(found, given)
        with progress_of_points("tolerance") as progress:
            table = study.tolerance_study(
                setting,
                tolerances,
                builds,
                limits,
                out,
                show,
                fresh=fresh,
                cluster=cluster,
                progress=progress,
            )
        print_text(study.as_text(table))
        print_files(leave_table(table, out))
