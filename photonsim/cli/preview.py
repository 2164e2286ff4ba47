"""The command `preview`."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.output import print_caveats, print_files
from photonsim.cli.picture_options import look_of, look_options
from photonsim.cli.reading import read_results


@click.command()
@click.argument("results", nargs=-1, required=True, metavar="RESULT...")
@click.option(
    "--picture", type=click.Path(path_type=Path), help="Picture to show instead of the test chart."
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("."),
    show_default=True,
    help="Folder for the preview.",
)
@look_options
def preview(results: tuple[str, ...], picture: Path | None, out: Path, **options: Any) -> None:
    """Show a picture as the audience would see it: blur, uniformity, distortion and room light.

    RESULT is a result file, or a folder of them. With several results they stand side by side,
    at one exposure. The scenes must have a [screen].

    \b
    Example:
      photonsim preview lamp/d_split_film.h5 lamp/f_point_lamp.h5 --out lamp
    """
    with mistakes_printed():
        from photonsim.figures import draw_preview, save_figure
        from photonsim.figures.screen.preview import picture_or_chart

        designs = read_results(results)
        labelled = [(result.name, result) for _, result in designs]
        figure = draw_preview(labelled, picture_or_chart(picture), look_of(options))
        stem = "-".join(path.stem for path, _ in designs)[:120]
        written = save_figure(figure, out, f"{stem}-preview", options["formats"], options["dpi"])
        print_files(written)
        for _, result in labelled:
            print_caveats(result)
