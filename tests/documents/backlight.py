"""The table of scenes/backlight/README.md, made from what its first command leaves.

    photonsim compare scenes/backlight/plate.toml scenes/backlight/bars.toml \\
      scenes/backlight/telephone.toml --out backlight
    python -m tests.documents.backlight backlight

writes the block of the stacks, with the version and the count of photons that it is of.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path

from photonsim.results import Result, figure_named, load_result
from photonsim.studies.comparing.paired import ratio
from photonsim.summary.brightness import brightness_of
from photonsim.version import __version__
from tests.blocks import rewrite

FOLDER = Path(__file__).parents[2] / "scenes" / "backlight"
PAGE = FOLDER / "README.md"
COMMAND = "python -m tests.documents.backlight backlight"
# Each stack, and the one that the gain of its last sheet is against.
STACKS = {
    "plate.alone": "",
    "plate.polariser": "plate.alone",
    "plate.film": "plate.alone",
    "plate.film_along": "plate.alone",
    "plate": "plate.film",
    "plate.polariser_below": "plate.film",
    "plate.two_films": "plate.film",
    "plate.all": "plate.two_films",
    "bars.alone": "",
    "bars": "bars.alone",
    "bars.strips": "bars.alone",
    "bars.strips_polariser": "bars.strips",
    "bars.dark_alone": "",
    "bars.dark": "bars.dark_alone",
    "bars.dark_strips": "bars.dark_alone",
    "bars.dark_strips_polariser": "bars.dark_strips",
    "telephone": "",
}
HEADINGS = (
    "stack, from the lamp",
    "collected, %",
    "gain of the sheet",
    "darkest edge",
    "structure, %",
    "on the wall, lx",
    "gain by polarisation",
)
FIGURES = ("darkest_edge", "structure", "polarisation_gain")


def row(result: Result, without: Result | None) -> str:
    """Return the row of a stack, beside what it is without the sheet in question."""
    edge, structure, polarisation = (
        result.estimate(name).text(figure_named(name).scale) for name in FIGURES
    )
    cells = (
        result.name,
        result.estimate("collected_fraction").text(100.0),
        "" if without is None else f"× {ratio(result, without, 'collected_fraction').text()}",
        edge,
        structure,
        brightness_of(result).mean_lux.text(),
        polarisation,
    )
    return f"| {' | '.join(cells)} |"


def block(results: Mapping[str, Result], version: str) -> str:
    """Return the table of results by their files' stems."""
    lines = [f"| {' | '.join(HEADINGS)} |", f"| --- |{' ---: |' * (len(HEADINGS) - 1)}"]
    lines += [row(results[stem], results.get(other)) for stem, other in STACKS.items()]
    photons = results["plate"].photons
    return "\n".join((*lines, "", f"Version {version}, {photons:,} photons a lamp."))


if __name__ == "__main__":
    found = {stem: load_result(Path(sys.argv[1]) / f"{stem}.h5") for stem in STACKS}
    rewrite(PAGE, "stacks", COMMAND, block(found, __version__))
