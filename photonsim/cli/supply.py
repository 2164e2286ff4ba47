"""The command `supply`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.output import print_files, print_text, write_text
from photonsim.cli.reading import read_scene

if TYPE_CHECKING:
    from photonsim.results.files.sources import Source
    from photonsim.scene import Scene


@click.command()
@takes_scenes("SCENE", "scene", write=False)
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the figure.")
@click.option(
    "--write",
    type=click.Path(path_type=Path),
    help="Scene file to write: SCENE with the lumens of the plan, comments kept.",
)
def supply(scene: Given, out: Path | None, write: Path | None) -> None:
    """Plan how the LEDs are fed and cooled, and how many lumens that gives.

    SCENE has the tables [supply], [supply.led] and [supply.heat_sink]. Prints current, dropper,
    temperatures, light, and how far they stray from lamp to lamp; --out draws why.

    \b
    Example:
      photonsim supply scenes/d_split_film.toml --out lamp --write lamp/fed.toml
    """
    with mistakes_printed():
        path, read = read_scene(scene)
        from photonsim.supply.load_line import load_lines
        from photonsim.supply.plan import supply_plan
        from photonsim.supply.plan_text import plan_text

        plan = supply_plan(read)
        print_text(plan_text(plan))
        files: list[Path] = []
        if out is not None:
            from photonsim.figures import draw_supply, save_figure
            from photonsim.words.escaping import visible

            figure = draw_supply(load_lines(plan), read.title or visible(path.stem, ""))
            files += save_figure(figure, out, f"{path.stem}-supply")
        if write is not None:
            write_text(write, fed_text(path, read, bool(scene.sets), write, plan.point.led_lm))
            files.append(write)
        print_files(files)


def fed_text(source: Source, scene: Scene, changed: bool, target: Path, flux_lm: float) -> str:
    """Return the text of a scene with the lumens of each emitter, for a file to be written."""
    from photonsim.results.files.file import is_hdf5
    from photonsim.scene.writing import rewritten

    # Beside the scene its LM-63 files are found by name; elsewhere their text goes along.
    beside = target.parent.resolve() == source.file.parent.resolve()
    as_it_stands = beside and not (changed or source.variant or is_hdf5(source.file))
    text = source.file.read_text(encoding="utf-8-sig") if as_it_stands else scene.text
    flux = round(flux_lm, 3)
    return rewritten(text, {("emitters", name, "flux_lm"): flux for name in scene.emitters})
