"""The command `race`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.next_step import BEST, tell_scene
from photonsim.cli.options import FigureCommand, FigureName, FiniteRange, PhotonCount
from photonsim.cli.output import bar, print_files, print_text, write_text
from photonsim.cli.reading import labelled, read_scenes
from photonsim.cli.study_options import cluster_at, shared_options, study_folder

if TYPE_CHECKING:
    from photonsim.results import Result
    from photonsim.scene import Scene


@click.command(cls=FigureCommand)
@takes_scenes()
@click.option(
    "--figure",
    type=FigureName(),
    default="collected_lm",
    show_default=True,
    help="The figure of merit that is raced for.",
)
@click.option("--least", is_flag=True, help="The least of the figure wins, not the most.")
@click.option(
    "--photons",
    type=PhotonCount(),
    default=8_388_608,
    show_default="8.4e6",
    help="The most photons to spend on a design.",
)
@click.option(
    "--false-alarm",
    type=FiniteRange(0, 0.5, True, True),
    default=0.05,
    show_default=True,
    help="Odds that the race calls any design a loser by luck.",
)
@click.option(
    "--worth",
    type=FiniteRange(0, 1),
    default=0.0,
    metavar="SHARE",
    help="Stop where the designs left differ by less than this share, such as 0.01.",
)
@shared_options
def race(
    scenes: Given,
    least: bool,
    out: Path | None,
    fresh: bool,
    cluster: str | None,
    seed: int,
    threads: int | None,
    guide: Any,
    **rule: Any,
) -> None:
    """Find the best of several scenes with no more photons than the decision takes.

    All designs share their random numbers. They are compared whenever the photon count has doubled,
    and a design that another one beats is traced no further. The odds of a false alarm hold for the
    whole race, however often it looks.

    \b
    Example:
      photonsim race scenes --figure near_axis_fraction --out race
    """
    from photonsim.results.files.table_file import save_table
    from photonsim.studies.comparing import race as racing

    with mistakes_printed(), cluster_at(cluster) as workers:
        read = read_scenes(scenes, variants=True)
        found: dict[str, Scene] = labelled(read)
        asked = racing.RaceRule(
            rule["figure"], rule["photons"], rule["false_alarm"], rule["worth"], -1 if least else 1
        )
        out = study_folder(out, scenes, "race")
        tracer, journal = racing.entered(found, asked, seed, guide, out, threads, workers, fresh)
        with journal, bar("race, at most", "photons", asked.looks[-1] * len(found)) as shown:

            def told(design: int, photons: int, earlier: Result | None) -> Result:
                result = tracer(design, photons, earlier)
                shown.update(photons - (earlier.photons if earlier else 0))
                return result

            outcome = racing.race(list(found), asked, told, journal)
        table = outcome.table
        print_text(racing.as_text(outcome))
        if outcome.winner is not None and len(found) > 1:
            tell_scene(BEST, read[outcome.winner][0], scenes, {})
        write_text(out / "race.csv", table.as_csv())
        save_table(table, out / "race.h5")
        print_files([out / "race.csv", out / "race.h5"])
