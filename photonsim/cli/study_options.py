"""Options that the studies share, and how they show progress and leave their tables."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from photonsim.cli.naming import Given
from photonsim.cli.options import (
    Decorator,
    FiniteRange,
    PhotonCount,
    adding,
    figure_option,
    guide_option,
    seed_option,
    threads_option,
)
from photonsim.cli.output import bar, write_text

if TYPE_CHECKING:
    from photonsim.results.files.study_table import StudyTable
    from photonsim.studies.points import Setting

# Of every study, a race too.
shared_options = adding(
    seed_option,
    guide_option,
    threads_option,
    click.option(
        "--cluster",
        metavar="ADDRESS",
        help="Scheduler to work on, tcp://HOST:8786, or local:2 for two processes here.",
    ),
    click.option(
        "--out",
        type=click.Path(path_type=Path),
        help="Folder of the study [SCENE-COMMAND, here]; the same command goes on where it was "
        "broken off.",
    ),
    click.option("--fresh", is_flag=True, help="Begin anew; what is there moves to `earlier`."),
)
TIES = click.option(
    "--tie",
    "ties",
    type=(str, str),
    multiple=True,
    metavar="PATH SOURCE",
    help="Let the number at PATH follow the one at SOURCE.",
)


def study_options(error: float) -> Decorator:
    """Return a decorator with the options of a study whose points have this relative error."""
    return adding(
        click.option(
            "--relative-error",
            type=FiniteRange(0, 1, True, True),
            default=error,
            show_default=True,
            help="Trace each design until --figure is as sure as this.",
        ),
        figure_option,
        click.option(
            "--photons",
            type=PhotonCount(),
            default=20_000_000,
            show_default="2e7",
            help="The most photons to spend on a design.",
        ),
        shared_options,
        TIES,
    )


def study_folder(out: Path | None, scenes: Given, command: str) -> Path:
    """Return the folder that was asked for, or one here, named after the scene and the command."""
    from photonsim.results.files.sources import Source
    from photonsim.scene import file_and_variant

    if out is not None:
        return out
    if len(scenes.names) > 1:
        return Path(command)
    source = Source(*file_and_variant(scenes.names[0]))
    name = source.file.resolve().name if source.file.is_dir() else source.stem
    return Path(f"{name}-{command}")


def setting_of(scene: Any, given: dict[str, Any]) -> Setting:
    """Take the options that make up a study's setting out of what was given."""
    from photonsim.studies.effort import Effort
    from photonsim.studies.goals import refuse_twice
    from photonsim.studies.points import Setting

    refuse_twice(path for path, _ in given["ties"])
    effort = Effort(given.pop("relative_error"), given.pop("figure"), given.pop("photons"))
    ties = dict(given.pop("ties"))
    return Setting(scene, effort, given.pop("seed"), ties, given.pop("threads"), given.pop("guide"))


@contextmanager
def cluster_at(where: str | None) -> Iterator[Any]:
    """Give a cluster, or None where none was named."""
    if where is None:
        yield None
        return
    from photonsim.engine.cluster import Cluster

    with Cluster(where) as cluster:
        yield cluster


@contextmanager
def progress_of_points(label: str) -> Iterator[Callable[[int, int, dict[str, Any]], None]]:
    """Give a function that shows a bar of points done, with a forecast from all so far."""
    with bar(label, "designs", 0) as shown:

        def show(done: int, total: int, record: dict[str, Any]) -> None:
            shown.total = total
            shown.update(done - shown.n)

        yield show


def leave_table(table: StudyTable, out: Path) -> list[Path]:
    """Write a study's table as CSV and HDF5 and draw its figures, named after its kind.

    Return the files.
    """
    from photonsim.figures.study.draw import draw_study
    from photonsim.results.files.table_file import save_table

    write_text(out / f"{table.kind}.csv", table.as_csv())
    save_table(table, out / f"{table.kind}.h5")
    return [
        out / f"{table.kind}.csv",
        out / f"{table.kind}.h5",
        *draw_study(table, out, table.kind),
    ]
