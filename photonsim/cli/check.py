"""The command `check`."""

from __future__ import annotations

from pathlib import Path

import click

from photonsim.cli.plain import read_scenes, tell_files, told_plainly


@click.command()
@click.argument("scenes", nargs=-1, required=True, metavar="SCENE...")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the side view.")
def check(scenes: tuple[str, ...], out: Path | None) -> None:
    """Validate scenes, print first-order facts and draw the layout to scale.

    SCENE is a scene file, or a folder of them. All mistakes are told at once. The side view is
    drawn when --out names a folder.

    \b
    Example:
      photonsim check scenes/d_split_film.toml --out layout
    """
    with told_plainly():
        for path, scene in read_scenes(scenes):
            from photonsim.bench import scene_brief

            click.echo(scene_brief(scene))
            if out is not None:
                from photonsim.figures import draw_side_view, save_figure

                tell_files(save_figure(draw_side_view(scene, []), out, f"{path.stem}-layout"))
