"""The command `figures`."""

from __future__ import annotations

from pathlib import Path

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.output import draw, print_caveats, print_files, print_remark
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
@click.option(
    "--paths",
    type=click.IntRange(0, 5000),
    default=400,
    show_default=True,
    help="Light paths in the side view.",
)
@click.option(
    "--form",
    "forms",
    multiple=True,
    type=click.Choice(["png", "svg"]),
    default=("png", "svg"),
    show_default=True,
    help="Kind of picture file.",
)
def figures(results: tuple[str, ...], out: Path, paths: int, forms: tuple[str, ...]) -> None:
    """Draw the figures of result files: maps, spread, intensity, ledger, profile, side view.

    RESULT is a result file, or a folder of them.

    \b
    Example:
      photonsim figures lamp/d_split_film.h5 --out lamp --form svg
    """
    from photonsim.figures.panel.maps import print_note

    with mistakes_printed():
        read = read_results(results)
        refuse_one_name([source for source, _ in read])
        found = [(source.stem, result) for source, result in read]
        print_files(draw(found, out, paths, forms))
        for _, result in found:
            print_caveats(result)
            if note := print_note(result):
                print_remark(f"{result.name}: {note}")
