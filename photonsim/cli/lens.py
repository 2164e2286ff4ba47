"""The command `lens`."""

from __future__ import annotations

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.options import FiniteRange

RADIUS = FiniteRange(-100_000, 100_000)
RADIUS_HELP = "Radius of the face to the {} in mm, if measured; negative if hollow."


@click.command()
@click.option("--diameter", type=FiniteRange(1, 1000), required=True, help="Diameter in mm.")
@click.option(
    "--centre", type=FiniteRange(0.1, 500), required=True, help="Thickness in the middle in mm."
)
@click.option("--edge", type=FiniteRange(0, 500), required=True, help="Thickness at the rim in mm.")
@click.option(
    "--focal",
    type=FiniteRange(1, 100_000),
    required=True,
    help="From the middle of the lens to a distant window's image, in mm: the mean of both ways "
    "round.",
)
@click.option(
    "--curved",
    type=click.Choice(["both", "lamp", "screen"]),
    default="both",
    show_default=True,
    help="Which sides are curved; two that were not measured are taken as alike.",
)
@click.option("--radius-lamp", type=RADIUS, help=RADIUS_HELP.format("lamp"))
@click.option("--radius-screen", type=RADIUS, help=RADIUS_HELP.format("screen"))
@click.option("--name", default="magnifier", show_default=True, help="Name of the part.")
@click.option(
    "--z", type=FiniteRange(0, 100_000), default=230.0, show_default=True, help="Its height in mm."
)
def lens(
    diameter: float,
    centre: float,
    edge: float,
    focal: float,
    curved: str,
    radius_lamp: float | None,
    radius_screen: float | None,
    name: str,
    z: float,
) -> None:
    """Turn a salvaged lens, measured on a kitchen table, into a part for a scene.

    Measure by day, away from the sun: a lens that gathers sunlight burns. Readings that ask for an
    index below 1.3 or above 2.2 are refused: nothing that lenses are made of has it.

    \b
    Examples:
      photonsim lens --diameter 60 --centre 9 --edge 4.3 --focal 187
      photonsim lens --diameter 56 --centre 6 --edge 3.8 --focal 335 --curved lamp
    """
    with mistakes_printed():
        from photonsim.workshop.kitchen_lens import kitchen_lens, kitchen_text

        radii = (radius_lamp, radius_screen)
        found = kitchen_lens(diameter, centre, edge, focal, curved, radii)  # type: ignore[arg-type]
        click.echo(kitchen_text(found, name, z), nl=False)
