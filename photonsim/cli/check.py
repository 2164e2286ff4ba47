"""The command `check`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from photonsim.cli.plain import read_scenes, refuse_one_name, tell, tell_files, told_plainly

if TYPE_CHECKING:
    from photonsim.scene import Scene


@click.command()
@click.argument("scenes", nargs=-1, required=True, metavar="SCENE...")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the drawings.")
def check(scenes: tuple[str, ...], out: Path | None) -> None:
    """Validate scenes, print first-order facts and draw the layout to scale.

    SCENE is a scene file, or a folder of them. All mistakes are told at once. When --out names a
    folder, the side view is drawn there, and which way round panel and picture must be.

    \b
    Example:
      photonsim check scenes/d_split_film.toml --out layout
    """
    with told_plainly():
        found = read_scenes(scenes)
        if out is not None:
            refuse_one_name([path for path, _ in found])
        for path, scene in found:
            from photonsim.bench import scene_brief

            tell(scene_brief(scene))
            if out is not None:
                _draw(path, scene, out)


def _draw(path: Path, scene: Scene, out: Path) -> None:
    """Draw the layout and, where there is a screen, which way round things must be."""
    from photonsim.bench import MOUNTINGS, mounting_of
    from photonsim.figures import draw_orientation, draw_side_view, save_figure

    tell_files(save_figure(draw_side_view(scene, []), out, f"{path.stem}-layout"))
    if mounting := mounting_of(scene):
        drawn = draw_orientation(MOUNTINGS, mounting, scene.title)
        tell_files(save_figure(drawn, out, f"{path.stem}-orientation"))
