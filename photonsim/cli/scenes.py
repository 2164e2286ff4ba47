"""The command `scenes`."""

from __future__ import annotations

import os
import tomllib
from pathlib import Path

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.output import print_text


@click.command()
@click.option(
    "--copy", "folder", type=click.Path(path_type=Path), help="Folder to copy the lamps to."
)
def scenes(folder: Path | None) -> None:
    """List the lamps that come with photonsim, or copy them to a folder of yours.

    A file of yours by the same name is never lost: it moves to `earlier` beside it.

    \b
    Example:
      photonsim scenes --copy scenes
    """
    with mistakes_printed():
        from photonsim.results import ResultError
        from photonsim.results.files.writing import write_file
        from photonsim.scene.shipped import shipped_scenes

        found = shipped_scenes()
        if not found:
            raise ResultError(
                "the shipped lamps are missing here; install photonsim again, from a wheel or from "
                "the folder that pyproject.toml lies in"
            )
        lamps = [name for name in found if name.endswith(".toml")]
        if folder is None:
            width = max(map(len, lamps))
            for name in lamps:
                title = tomllib.loads(found[name].decode("utf-8"))["title"]
                print_text(f"{name.ljust(width)}  {title}")
            return
        for name, content in found.items():
            copy = folder / name
            # What is there already is left alone: the folder may be the one that is shipped.
            if not (copy.is_file() and copy.read_bytes() == content):
                write_file(copy, content)
        print_text(f"{len(lamps)} lamps are in {folder}{os.sep}")
