"""The command `compare`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.next_step import BEST, tell_scene
from photonsim.cli.options import FigureCommand, run_options
from photonsim.cli.output import draw, print_files, print_text, write_text
from photonsim.cli.reading import labelled, read_designs, refuse_one_name
from photonsim.cli.trace import traced

if TYPE_CHECKING:
    from photonsim.cli.reading import Read
    from photonsim.results import Result


@click.command(cls=FigureCommand)
@takes_scenes("SCENE_OR_RESULT...", "designs")
@run_options
@click.option(
    "--against",
    type=click.Choice(["first", "best"]),
    default="first",
    show_default=True,
    help="The design that differences are taken to.",
)
@click.option("--verbose", is_flag=True, help="All figures with errors, and where light went.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder for results, tables (CSV, Markdown) and figures.",
)
@click.option("--fresh", is_flag=True, help="Start anew where a result is there already.")
def compare(
    designs: Given,
    against: str,
    verbose: bool,
    out: Path | None,
    fresh: bool,
    **rule: Any,
) -> None:
    """Put designs side by side, ranked by collected lumens, with honest errors.

    Scenes are traced with shared random numbers, so that differences are surer than the figures
    themselves; result files are taken as they are. A scene file stands for
    its lamp and that lamp's variants, a folder for the scenes in it, or else the results. With
    --out each design's maps, preview and side view are drawn; `photonsim figures` draws the rest.

    \b
    Example:
      photonsim compare scenes --out first-look
    """
    from photonsim.studies import Design, compare
    from photonsim.studies.comparing import tables
    from photonsim.studies.comparing.answer import rivals

    with mistakes_printed():
        read = read_designs(designs, variants=True)
        sources = [source for source, _ in read]
        if out is not None:
            refuse_one_name(sources)
        found = named_results(read, out, fresh, rule)
        comparison = compare([Design(*item) for item in found.items()], against, [rule["figure"]])
        print_text(tables.as_text(comparison, verbose))
        best = list(found).index(comparison.designs[0].label)
        if len(found) > 1 and not rivals(comparison):
            tell_scene(BEST, sources[best], designs, {})
        if out is not None:
            from photonsim.figures import IN_SHORT, PRINT, draw_comparison

            write_text(out / "comparison.csv", tables.as_csv(comparison))
            write_text(out / "comparison.md", tables.as_markdown(comparison))
            files = [out / "comparison.csv", out / "comparison.md"]
            files += draw_comparison(comparison.results, out, "designs")
            stems = [source.stem for source in sources]
            files += draw(list(zip(stems, found.values(), strict=True)), out, IN_SHORT, PRINT)
            print_files(files)


def named_results(
    designs: Read, out: Path | None, fresh: bool, rule: dict[str, Any]
) -> dict[str, Result]:
    """Return results by label: files as they are, scenes traced, into `out` if it is given.

    What guides the first guides those that are traced after it, so that all share their luck, but
    what it suits badly: see engine.pilot.
    """
    from photonsim.engine.pilot import guides_of

    found: list[Result] = []
    guides = guides_of([lamp for _, lamp in designs], rule["seed"], rule["guide"])
    for (path, scene_or_result), guide in zip(designs, guides, strict=True):
        if hasattr(scene_or_result, "tallies"):
            result = scene_or_result
        else:
            result = traced(path, scene_or_result, out, fresh, rule | {"guide": guide})
        found.append(result)
    return dict(zip(labelled(designs), found, strict=True))
