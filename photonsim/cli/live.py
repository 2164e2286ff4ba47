"""The command `live`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.output import print_text
from photonsim.cli.reading import read_scene

if TYPE_CHECKING:
    from photonsim.scene import Scene


@click.command()
@takes_scenes("SCENE", "scene", write=False)
@click.option("--port", type=click.IntRange(1024, 65535), help="Port of the page [any free].")
@click.option("--no-browser", is_flag=True, help="Print the address and open nothing.")
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("."),
    show_default=True,
    help="Folder that the page writes to, and no other.",
)
def live(scene: Given, port: int | None, no_browser: bool, out: Path) -> None:
    """Open a page on which the lamp is changed and answers at once.

    Every number of the scene has a slider. Each change is traced while you drag: few photons first,
    then more, beside the design that you pinned. What you keep is listed in a file in the folder;
    what you save is a scene file with its comments. Only this machine can open the page. Ctrl-C
    ends it.

    \b
    Example:
      photonsim live scenes/d_split_film.toml
    """
    with mistakes_printed():
        from photonsim.results.files.file import is_hdf5

        source, found = read_scene(scene)
        # Whoever sets a value, or opens a variant or a result, has no file that is the lamp itself.
        is_other = source.variant or scene.sets or is_hdf5(source.file)
        file = None if is_other else source.file
        _serve(found, source.stem, file, out, port or 0, no_browser)


def _serve(
    scene: Scene, name: str, file: Path | None, folder: Path, port: int, no_browser: bool
) -> None:
    from photonsim.engine import trace
    from photonsim.live.model import Model
    from photonsim.live.server import PageServer
    from photonsim.results import ResultError, sole_writer

    # The kernel is compiled, or fetched, before the page is there to ask for it.
    trace(scene, photons=256)
    try:
        holder = sole_writer(folder / f"{name}.live.json")
        with holder:
            model = Model(scene, name, folder, file)
            try:
                with PageServer(model, port) as server:
                    print_text(f"{server.address}\nopens on this machine alone; Ctrl-C ends it")
                    if not no_browser:
                        import webbrowser

                        webbrowser.open(server.address)
                    server.serve_forever(0.1)
            finally:
                model.close()
    except OSError as error:
        if error.filename is None:
            words = f"port {port}: {error.strerror}; choose another, or none"
            raise ResultError(words) from None
        raise
