"""The command `report`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from photonsim.cli.compare import named_results
from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.options import FigureCommand, run_options
from photonsim.cli.output import print_files
from photonsim.cli.reading import read_designs, refuse_one_name


@click.command(cls=FigureCommand)
@takes_scenes("SCENE_OR_RESULT...", "designs")
@run_options
@click.option("--study", "studies", multiple=True, type=click.Path(path_type=Path),
              help="Table of a study (HDF5) to show; may be given again.")  # fmt: skip
@click.option("--title", default="", help="Title of the page.")
@click.option("--out", type=click.Path(path_type=Path), default=Path("."), show_default=True,
              help="Folder for the page, and for results of scenes that are traced.")  # fmt: skip
@click.option("--fresh", is_flag=True, help="Start anew where a result is there already.")
def report(
    designs: Given,
    studies: tuple[Path, ...],
    title: str,
    out: Path,
    fresh: bool,
    **rule: Any,
) -> None:
    """Write the project up: one page to publish, and Markdown with figures to paste.

    report.html opens offline and prints on a few pages of A4; what is unfolded in it is printed
    too. The design that collects most light is shown in full, others beside it. Result files are
    taken as they are, scenes are traced first; a folder stands for the scenes in it.

    \b
    Example:
      photonsim report scenes/d_split_film.toml --fit-to-print --out write-up
    """
    from photonsim.engine import sample_paths
    from photonsim.report import compose, save_write_up
    from photonsim.results import Result
    from photonsim.results.files.table_file import load_table

    with mistakes_printed():
        read = read_designs(designs)
        refuse_one_name([source for source, design in read if not isinstance(design, Result)])
        tables = [load_table(path) for path in studies]
        found = dict(named_results(read, out, fresh, rule))
        write_up = compose(list(found.items()), sample_paths, tables, title)
        print_files(save_write_up(write_up, out)[:2])
