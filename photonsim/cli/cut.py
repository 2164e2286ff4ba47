"""The command `cut`."""

from __future__ import annotations

from pathlib import Path

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.options import FiniteRange
from photonsim.cli.output import print_files, print_text, write_text
from photonsim.cli.reading import read_scenes, refuse_one_name


@click.command()
@takes_scenes()
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("."),
    show_default=True,
    help="Folder for the cutting sheets.",
)
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    default="a4",
    show_default=True,
    help="Paper to print on.",
)
@click.option(
    "--kerf",
    type=FiniteRange(0.0, 5.0),
    default=0.0,
    show_default=True,
    help="Width in mm that the cutter takes away: 0 for a knife, 0.1 to 0.3 for a laser.",
)
@click.option(
    "--flap",
    type=FiniteRange(2.0, 50.0),
    default=10.0,
    show_default=True,
    help="Width in mm of the flaps that the walls are glued by.",
)
def cut(scenes: Given, out: Path, paper: str, kerf: float, flap: float) -> None:
    """Draw what there is to cut at full size, with a parts list and a plan of the base board.

    One PDF to print at actual size, tiled over pages with marks to join them by; the same pages as
    SVG; one SVG with every piece on one sheet, for a cutter; and the parts list as CSV. Check the
    printed ruler before you cut.

    \b
    Example:
      photonsim cut scenes/d_split_film.toml --out workshop
    """
    from photonsim.figures.sheets.cutting_sheet import (
        draw_cutting_sheet,
        draw_whole,
        save_cutting_sheet,
    )
    from photonsim.words.cautions import FOR_OPTICS, for_lamp
    from photonsim.words.text import paragraph
    from photonsim.workshop.cutting import cutting_plan
    from photonsim.workshop.parts_list import HEADINGS, parts_csv, parts_rows, parts_text

    with mistakes_printed():
        found = read_scenes(scenes)
        refuse_one_name([path for path, _ in found])
        files: list[Path] = []
        for path, scene in found:
            plan = cutting_plan(scene, kerf, flap)
            print_text(f"{paragraph(plan.title)}\n{parts_text(plan)}\n")
            words = (*plan.remarks, *for_lamp(FOR_OPTICS, scene))
            pages = draw_cutting_sheet(plan, [HEADINGS, *parts_rows(plan)], words, paper)
            files += save_cutting_sheet(pages, draw_whole(plan), out, path.stem)
            files.append(out / f"{path.stem}-parts.csv")
            write_text(files[-1], parts_csv(plan))
        print_files(files)
