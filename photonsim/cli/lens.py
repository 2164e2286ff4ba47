"""The command `lens`."""

from __future__ import annotations

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.options import FiniteRange


@click.command()
@click.option("--diameter", type=FiniteRange(), required=True, help="Diameter in mm.")
@click.option("--centre", type=FiniteRange(), required=True, help="Thickness in the middle in mm.")
@click.option("--edge", type=FiniteRange(), required=True, help="Thickness at the rim in mm.")
@click.option(
    "--focal",
    type=FiniteRange(),
    required=True,
    help="From the lens to a distant window's image, in mm.",
)
@click.option(
    "--sides",
    type=click.Choice(["both_curved", "flat_and_curved"]),
    default="both_curved",
    show_default=True,
    help="Whether one side is flat; two curved ones are taken as alike.",
)
@click.option("--name", default="magnifier", show_default=True, help="Name of the part.")
@click.option("--z", type=FiniteRange(), default=230.0, show_default=True, help="Its height in mm.")
def lens(
    diameter: float, centre: float, edge: float, focal: float, sides: str, name: str, z: float
) -> None:
    """Turn a salvaged lens, measured on a kitchen table, into a part for a scene.

    Measure by day, away from the sun: a lens that gathers sunlight burns.

    \b
    Example:
      photonsim lens --diameter 60 --centre 9 --edge 4.3 --focal 187
    """
    with mistakes_printed():
        from photonsim.workshop.kitchen_lens import kitchen_lens, kitchen_text

        found = kitchen_lens(diameter, centre, edge, focal, sides)  # type: ignore[arg-type]
        click.echo(kitchen_text(found, name, z), nl=False)
