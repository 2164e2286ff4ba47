"""The command `trace`."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.options import run_options
from photonsim.cli.output import print_caveats, print_text
from photonsim.cli.reading import read_scenes, refuse_one_name

if TYPE_CHECKING:
    from photonsim.results import Result
    from photonsim.scene import Scene


@click.command()
@click.argument("scenes", nargs=-1, required=True, metavar="SCENE...")
@run_options
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("."),
    show_default=True,
    help="Folder for the result files, named after the scenes.",
)
@click.option("--fresh", is_flag=True, help="Start anew where a result is there already.")
@click.option(
    "--cluster",
    metavar="ADDRESS",
    help="Scheduler to work on, to a number of photons: tcp://HOST:8786, or local:2.",
)
def trace(
    scenes: tuple[str, ...], out: Path, fresh: bool, cluster: str | None, **rule: Any
) -> None:
    """Trace scenes and save a result file for each.

    SCENE is a scene file, or a folder of them. A result that is there already, partial or
    complete, is continued to the larger count: the outcome is that of one long run. Ctrl-C ends a
    run with what it has, saved.

    \b
    Example:
      photonsim trace scenes/d_split_film.toml --relative-error 0.002 --out lamp
    """
    with mistakes_printed():
        found = read_scenes(scenes)
        refuse_one_name([path for path, _ in found])
        if cluster is not None:
            traced_elsewhere(found, out, fresh, cluster, rule)
            return
        for path, scene in found:
            print_result(traced(path, scene, out, fresh, rule), rule)


def traced(path: Path, scene: Scene, out: Path | None, fresh: bool, rule: dict[str, Any]) -> Any:
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
        there = photons_there(
            target, scene, result.seed, result.run.program_version, result.guide_digest
        )
        where = f"; saved to {target}, the same command goes on from there"
        if there != result.photons:
            where = f"; not saved, since {target} holds more of the same lamp"
    print_text(f"{result.run.stopped_by} after {result.photons:,} photons{where}", err=True)
    sys.exit(143 if "SIGTERM" in result.run.stopped_by else 130)


def traced_elsewhere(
    found: list[tuple[Path, Scene]], out: Path, fresh: bool, where: str, rule: dict[str, Any]
) -> None:
    """Trace scenes on a cluster into out/<name>.h5, continuing what is there."""
    from photonsim.engine.cluster import Cluster, trace_on_cluster
    from photonsim.results import ResultError

    if rule["photons"] is None:
        raise ResultError("on a cluster, say how far to trace with --photons")
    with Cluster(where) as cluster:
        for path, scene in found:
            print_result(
                trace_on_cluster(
                    scene,
                    rule["photons"],
                    rule["seed"],
                    cluster,
                    resume=None if fresh else "saved",
                    save_to=out / f"{path.stem}.h5",
                    guide=rule["guide"],
                ),
                rule,
            )


def print_result(result: Result, rule: dict[str, Any]) -> None:
    """Print a result that was asked for by a rule in a few lines."""
    from photonsim.engine import forecast
    from photonsim.results import FIGURES, Shown, shown_in

    print_text(f"{result.name}: {result.photons:,} photons, stopped by {result.run.stopped_by}")
    asked = rule["photons"]
    if asked is not None and result.photons > asked:
        print_text(
            f"  there already, and more than the {asked:,} asked for: nothing was traced; "
            "--fresh starts anew"
        )
    print_caveats(result)
    for name in shown_in(Shown.TRACE, [rule["figure"]]):
        figure = FIGURES[name]
        value = result.estimate(name).text(figure.scale, figure.unit)
        print_text(f"  {figure.words:<20} {value}")
    if result.run.landing:
        from photonsim.summary.brightness_text import brightness_text

        print_text(brightness_text(result))
    for fate in result.fates:
        if fate.photons:
            share = 100.0 * fate.photons / result.photons
            print_text(f"  {fate.name:<36} {fate.photons:>14,.0f}  {share:6.2f} %")
    rate = result.photons / max(result.run.seconds["trace"], 1e-9)
    outlook = forecast(result.estimate("collected_fraction"), result.photons, rate)
    speed = f"{rate / 1e6:.2f} million photons a second on {result.run.threads} threads"
    print_text(f"  {speed}; {outlook}")
