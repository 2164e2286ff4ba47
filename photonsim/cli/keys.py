"""The command `keys`."""

from __future__ import annotations

import click

from photonsim.cli.mistakes import mistakes_printed


@click.command()
@click.argument("word", required=False, metavar="[TABLE_OR_KEY]")
def keys(word: str | None) -> None:
    """List the keys of a scene file: unit, range, default, and what each means.

    TABLE_OR_KEY is a table such as housing.walls or led, a kind of part such as prism_film, or a
    key such as half_angle_deg, which is then told wherever it stands.

    \b
    Example:
      photonsim keys prism_film
    """
    with mistakes_printed():
        from photonsim.summary.keys_text import keys_text

        click.echo(keys_text(word))
