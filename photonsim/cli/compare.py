"""The command `compare`."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from photonsim.cli.drawing import Drawing
from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.naming import Given, takes_scenes
from photonsim.cli.next_step import BEST, tell_scene
from photonsim.cli.options import FigureCommand, run_options
from photonsim.cli.output import print_files, print_text, write_text
from photonsim.cli.reading import labelled, read_designs, refuse_one_name
from photonsim.cli.trace import traced

if TYPE_CHECKING:
    from photonsim.cli.reading import Read
    from photonsim.results import Result
    from photonsim.studies.comparing.compare import Comparison


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
        found: dict[str, Result] = {}
        with nullcontext() if out is None else closing(Drawing(out)) as drawing:
            traced = named_results(read, out, fresh, rule)
            for source, (label, result) in zip(sources, traced, strict=True):
                found[label] = result
                if drawing is not None:
                    drawing.add(source.stem, result)
            comparison = compare(
                [Design(*item) for item in found.items()], against, [rule["figure"]]
            )
            print_text(tables.as_text(comparison, verbose))
            best = list(found).index(comparison.designs[0].label)
            if len(found) > 1 and not rivals(comparison):
                tell_scene(BEST, sources[best], designs, {})
            if drawing is not None:
                print_files(_written(comparison, drawing.out) + drawing.files())


def _written(comparison: Comparison, out: Path) -> list[Path]:
    """Write the tables of a comparison and its figure into a folder; return the files."""
    from photonsim.figures import draw_comparison
    from photonsim.studies.comparing import tables

    written = [out / "comparison.csv", out / "comparison.md"]
    for path, text in zip(written, (tables.as_csv, tables.as_markdown), strict=True):
        write_text(path, text(comparison))
    return written + draw_comparison(comparison.results, out, "designs")


def named_results(
    designs: Read, out: Path | None, fresh: bool, rule: dict[str, Any]
) -> Iterator[tuple[str, Result]]:
    """Yield (label, result): files as they are, scenes traced, into `out` if it is given.

    What guides the first guides those that are traced after it, so that all share their luck, but
    what it suits badly: see engine.pilot.
    """
    from photonsim.engine.pilot import guides_of

    lamps = [lamp for _, lamp in designs]
    guides = guides_of(lamps, rule["seed"], rule["guide"], threads=rule["threads"])
    for (path, lamp), label, guide in zip(designs, labelled(designs), guides, strict=True):
        is_result = hasattr(lamp, "tallies")
        yield label, lamp if is_result else traced(path, lamp, out, fresh, rule | {"guide": guide})
