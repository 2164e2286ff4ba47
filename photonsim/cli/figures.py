"""The command `figures`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from photonsim.cli.drawing import draw
from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.output import print_caveats, print_files, print_remark
from photonsim.cli.picture_options import figure_names, look_of, look_options
from photonsim.cli.reading import read_results, refuse_one_name


@click.command()
@click.argument("results", nargs=-1, required=True, metavar="RESULT...")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("."),
    show_default=True,
    help="Folder for the pictures.",
)
@click.option("--only", metavar="NAMES", help="Figures to draw, as maps,side_view. Default: all.")
@click.option(
    "--paths",
    type=click.IntRange(0, 30),
    default=30,
    show_default=True,
    help="Light paths through the stop in the side view.",
)
@click.option("--contours", is_flag=True, help="Lines of equal light on the maps.")
@click.option(
    "--unit",
    type=click.Choice(["relative", "lux"]),
    default="relative",
    show_default=True,
    help="Of the colours of the maps: relative to the mean, or lux.",
)
@look_options
def figures(
    results: tuple[str, ...],
    out: Path,
    only: str | None,
    paths: int,
    contours: bool,
    unit: str,
    **options: Any,
) -> None:
    """Draw the figures of result files: maps, spread, intensity, ledger, profile, side view.

    And of those with a screen: blur, line contrast, stop, preview. RESULT is a result file, or a
    folder of them.

    \b
    Example:
      photonsim figures lamp/d_split_film.h5 --out lamp \\
        --only maps,side_view --format png,svg
    """
    with mistakes_printed():
        from photonsim.figures.panel.maps import print_note

        wanted = figure_names(only)
        look = look_of(options)._replace(contours=contours, unit=unit)
        read = read_results(results)
        refuse_one_name([source for source, _ in read])
        found = [(source.stem, result) for source, result in read]
        print_files(draw(found, out, wanted, look, options["formats"], options["dpi"], paths))
        for _, result in found:
            print_caveats(result)
            if "maps" in wanted and (note := print_note(result)):
                print_remark(f"{result.name}: {note}")
