"""The command `fit`."""

from __future__ import annotations

from pathlib import Path

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.options import FiniteRange, PhotonCount, seed_option, threads_option
from photonsim.cli.output import bar, print_files, print_text, write_text
from photonsim.cli.reading import read_scene


@click.command()
@takes_scenes("SCENE", "scene")
@click.argument("readings", metavar="READINGS")
@click.option(
    "--free",
    type=(str, float, float),
    multiple=True,
    required=True,
    metavar="PATH LOW HIGH",
    help="A number of the scene to fit, and the range it may lie in.",
)
@click.option("--photons", type=PhotonCount(), default=1_000_000, show_default="1e6",
              help="Photons for each lamp that is tried.")  # fmt: skip
@seed_option
@threads_option
@click.option("--cell", type=FiniteRange(0.1, 100.0), default=10.0, show_default=True,
              help="Diameter in mm of the meter's cell.")  # fmt: skip
@click.option("--relative", is_flag=True,
              help="The meter's scale is unknown: only ratios of readings count.")  # fmt: skip
@click.option("--confidence", type=FiniteRange(0.5, 0.999), default=0.95, show_default=True,
              help="How often the limits should hold the truth.")  # fmt: skip
@click.option("--out", type=click.Path(path_type=Path),
              help="Folder for the fitted scene, the residuals and their map.")  # fmt: skip
def fit(
    scene: Given,
    readings: str,
    free: tuple[tuple[str, float, float], ...],
    photons: int,
    seed: int,
    threads: int | None,
    cell: float,
    relative: bool,
    confidence: float,
    out: Path | None,
) -> None:
    """Fit numbers of a scene to what a light meter showed.

    READINGS is a CSV file with a heading line and the columns place, x_mm, y_mm, lux,
    uncertainty_lux for readings at the panel; picture_width_mm as well for the screen; part and
    angle_deg instead of x_mm and y_mm for a sheet alone.

    \b
    Example:
      photonsim fit scenes/d_split_film.toml readings.csv --out fitted \\
        --free housing.walls.reflectance 0 0.5
    """
    from photonsim.studies.fitting import fit as study
    from photonsim.studies.fitting import fit_tables
    from photonsim.workshop.readings import load_readings

    with mistakes_printed():
        path, lamp = read_scene(scene)
        with bar("fit", "lamps traced") as shown:
            found = study.fit(
                lamp,
                load_readings(readings, lamp),
                [study.Free(*number) for number in free],
                photons=photons,
                seed=seed,
                threads=threads,
                cell_mm=cell,
                relative=relative,
                confidence=confidence,
                progress=lambda traced: shown.update(traced - shown.n),
            )
        print_text(fit_tables.as_text(found))
        if out is None:
            return
        from photonsim.figures import save_figure
        from photonsim.figures.study.residuals import draw_residuals

        files = {
            out / f"{path.stem}-fitted.toml": lamp.with_numbers(found.values).text,
            out / f"{path.stem}-residuals.csv": fit_tables.residuals_csv(found),
        }
        for name, text in files.items():
            write_text(name, text)
        predictions = found.likelihood.predictions
        figure = draw_residuals(found.readings, found.residuals, predictions, lamp.panel)
        print_files([*files, *save_figure(figure, out, f"{path.stem}-residuals")])
