"""The command `trace`."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.options import FigureCommand, run_options
from photonsim.cli.output import print_caveats, print_text
from photonsim.cli.reading import read_scenes, refuse_one_name

if TYPE_CHECKING:
    from photonsim.results import Result
    from photonsim.results.files.sources import Source
    from photonsim.scene import Scene


@click.command(cls=FigureCommand)
@takes_scenes()
@run_options
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("."),
    show_default=True,
    help="Folder for the result files, named after the scenes.",
)
@click.option("--fresh", is_flag=True, help="Start anew where a result is there already.")
@click.option("--verbose", is_flag=True, help="Also contrast, zones, all fates of light.")
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Scheduler to work on, to a number of photons: tcp://HOST:8786, or local:2.",
)
def trace(
    scenes: Given,
    out: Path,
    fresh: bool,
    verbose: bool,
    cluster: str | None,
    **rule: Any,
) -> None:
    """Trace scenes and save a result file for each.

    SCENE is a scene file, FILE:VARIANT, a result or a folder of them. A result that is there
    already, partial or complete, is continued to the larger count: the outcome is that of one long
    run. Ctrl-C ends a run with what it has, saved.

    \b
    Example:
      photonsim trace scenes/d_split_film.toml --relative-error 0.002 --out lamp
    """
    with mistakes_printed():
        found = read_scenes(scenes)
        refuse_one_name([path for path, _ in found])
        results = (
            (traced(path, scene, out, fresh, rule) for path, scene in found)
            if cluster is None
            else traced_elsewhere(found, out, fresh, cluster, rule)
        )
        for result in results:
            print_result(result, rule, verbose)
        where = out / f"{found[0][0].stem}.h5" if len(found) == 1 else f"{out}{os.sep}"
        print_text(f"saved in {where}", err=True)


def traced(path: Source, scene: Scene, out: Path | None, fresh: bool, rule: dict[str, Any]) -> Any:
    """Trace a scene into out/<name>.h5, continuing what is there, and return the result."""
    from photonsim.engine import Resume, trace
    from photonsim.results import photons_there

    target = None if out is None else out / f"{path.stem}.h5"
    resume: Resume = None if fresh or target is None else "saved"
    result = trace(scene, **rule, resume=resume, save_to=target, progress=sys.stderr.isatty())
    if result.is_complete:
        return result
    where = ""
    if target is not None:
        there = photons_there(target, result)
        where = f"; saved to {target}, the same command goes on from there"
        if there != result.photons:
            where = f"; not saved, since {target} holds more of the same lamp"
    print_text(f"{result.run.stopped_by} after {result.photons:,} photons{where}", err=True)
    sys.exit(143 if "SIGTERM" in result.run.stopped_by else 130)


def traced_elsewhere(
    found: list[tuple[Source, Scene]], out: Path, fresh: bool, where: str, rule: dict[str, Any]
) -> Iterator[Result]:
    """Trace scenes on a cluster into out/<name>.h5, continuing what is there; yield each result."""
    from photonsim.engine.cluster import Cluster, trace_on_cluster
    from photonsim.results import ResultError

    if rule["photons"] is None:
        raise ResultError("on a cluster, say how far to trace with --photons")
    with Cluster(where) as cluster:
        for path, scene in found:
            yield trace_on_cluster(
                scene,
                rule["photons"],
                rule["seed"],
                cluster,
                resume=None if fresh else "saved",
                save_to=out / f"{path.stem}.h5",
                guide=rule["guide"],
            )


def print_result(result: Result, rule: dict[str, Any], verbose: bool) -> None:
    """Print a result that was asked for by a rule: why it ended, figures, screen, losses."""
    from photonsim.engine import forecast
    from photonsim.results import EXACT_HISTORIES, FIGURES
    from photonsim.summary.result_text import result_text
    from photonsim.words.text import paragraph

    ended = f"{result.photons:,} photons, stopped by {result.run.stopped_by}"
    if rule["relative_error"] is not None:
        figure = FIGURES[rule["figure"]]
        reached = result.estimate(figure.name).text(figure.scale, figure.unit)
        ended += f"; {figure.words} {reached}"
    print_text(paragraph(f"{result.name}: {ended}", "", "  "))
    asked = rule["photons"]
    # With a guide a count is rounded up.
    if asked is not None and result.photons >= asked + EXACT_HISTORIES:
        words = f"there already, and more than the {asked:,} asked for: nothing was traced; "
        print_text(paragraph(f"{words}--fresh starts anew", "  ", "  "))
    print_caveats(result)
    print_text(result_text(result, [rule["figure"]], verbose))
    rate = result.photons / max(result.run.seconds["trace"], 1e-9)
    speed = f"{rate / 1e6:.2f} million photons a second on {result.run.threads} threads"
    outlook = forecast(result.estimate("collected_fraction"), result.photons, rate)
    print_text(paragraph(f"{speed}; {outlook}", "  ", "  "))
