"""The command `check`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.next_step import tell_scene
from photonsim.cli.output import print_files, print_text
from photonsim.cli.reading import read_scenes, refuse_one_name

if TYPE_CHECKING:
    from photonsim.results import Result
    from photonsim.results.files.sources import Source
    from photonsim.scene import Scene
    from photonsim.summary.verdict import Verdict


PHOTONS = 1_000_000


@click.command()
@takes_scenes()
@click.option("--no-trace", is_flag=True, help="Warnings only: trace nothing.")
@click.option("--verbose", is_flag=True, help="Also the layout, all facts and the cautions.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the drawings.")
def check(scenes: Given, no_trace: bool, verbose: bool, out: Path | None) -> None:
    """Say what is wrong with scenes, and whether they make a picture.

    SCENE is a scene file, FILE:VARIANT, a result or a folder of them. All mistakes are told at
    once, those of the scene's variants too, then what looks
    wrong by first-order optics, with nothing traced. Then a million photons are traced: is there
    a picture, how sharp, how bright, how dark at the edges, and how far to move the objective.
    When --out names a folder, the side view is drawn there, and which way round panel and picture
    must be.

    \b
    Example:
      photonsim check scenes/d_split_film.toml --out layout
    """
    with mistakes_printed():
        found, files = read_scenes(scenes, sound=True), list[Path]()
        if out is not None:
            refuse_one_name([path for path, _ in found])
        for path, scene in found:
            from photonsim.summary.scene_summary import (
                caution_line,
                ideal_film_line,
                scene_summary,
                unfinished_text,
                warnings_text,
            )
            from photonsim.summary.verdict import focusing_numbers
            from photonsim.summary.verdict_text import verdict_text
            from photonsim.words.text import paragraph

            print_text(f"{path} reads well.")
            verdict = None if no_trace else _verdict(scene)
            if verdict is not None:
                words = verdict_text(verdict)
                print_text(f"Does it make a picture? ({PHOTONS:,} photons)\n{words}")
            if unfinished := unfinished_text(scene):
                print_text(f"\n{unfinished}")
            print_text(f"\n{warnings_text(scene, traced=verdict is not None)}")
            if line := ideal_film_line(scene):
                print_text(f"\n{paragraph(line)}")
            if verbose:
                print_text(f"\n{scene_summary(scene)}")
            elif line := caution_line(scene, str(path)):
                print_text(f"\n{paragraph(line)}")
            if verdict is not None and verdict.is_out_of_focus:
                tell_scene("In focus:", path, scenes, focusing_numbers(verdict), "focused.toml")
            if out is not None:
                files += _draw(path, scene, out)
        print_files(files)


def _verdict(scene: Scene) -> Verdict:
    """Trace a scene as it is and in focus, and return the verdict on it."""
    from photonsim.engine import trace
    from photonsim.engine.pilot import guides_of
    from photonsim.summary.verdict import verdict_of

    (guide,) = guides_of([scene], 1)

    def traced(wanted: Scene) -> Result:
        result = trace(wanted, photons=PHOTONS, guide=guide)
        if not result.is_complete:
            raise KeyboardInterrupt(result.run.stopped_by)
        return result

    return verdict_of(scene, traced)


def _draw(path: Source, scene: Scene, out: Path) -> list[Path]:
    """Draw the layout and, where there is a screen, which way round; return the files."""
    from photonsim.figures import draw_orientation, draw_side_view, save_figure
    from photonsim.optics.orientation import MOUNTINGS, mounting_of

    files = list(save_figure(draw_side_view(scene, []), out, f"{path.stem}-layout"))
    if mounting := mounting_of(scene):
        drawn = draw_orientation(MOUNTINGS, mounting, scene.title)
        files += save_figure(drawn, out, f"{path.stem}-orientation")
    return files
