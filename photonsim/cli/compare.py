"""The command `compare`."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.options import run_options
from photonsim.cli.output import draw, print_files, write_text
from photonsim.cli.reading import all_files, read_designs, refuse_one_name
from photonsim.cli.trace import traced

if TYPE_CHECKING:
    from photonsim.results import Result


@click.command()
@click.argument("designs", nargs=-1, required=True, metavar="SCENE_OR_RESULT...")
@run_options
@click.option(
    "--against",
    type=click.Choice(["first", "best"]),
    default="first",
    show_default=True,
    help="The design that differences are taken to.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    help="Folder for results, tables (CSV, Markdown) and figures.",
)
@click.option("--fresh", is_flag=True, help="Start anew where a result is there already.")
def compare(
    designs: tuple[str, ...], against: str, out: Path | None, fresh: bool, **rule: Any
) -> None:
    """Put designs side by side, ranked by collected lumens, with honest errors.

    Scenes are traced with shared random numbers, so that differences are surer than the figures
    themselves; result files are taken as they are. A folder stands for the scenes in it. With
    --out each design's maps, preview and side view are drawn; `photonsim figures` draws the rest.

    \b
    Example:
      photonsim compare scenes --out first-look
    """
    from photonsim.studies import Design, compare
    from photonsim.studies.comparing import tables

    with mistakes_printed():
        if out is not None:
            refuse_one_name(all_files(designs))
        found = named_results(designs, out, fresh, rule)
        comparison = compare([Design(*item) for item in found.items()], against, [rule["figure"]])
        click.echo(tables.as_text(comparison))
        if out is not None:
            from photonsim.figures import draw_comparison

            write_text(out / "comparison.csv", tables.as_csv(comparison))
            write_text(out / "comparison.md", tables.as_markdown(comparison))
            print_files([out / "comparison.csv", out / "comparison.md"])
            print_files(draw_comparison(comparison.results, out, "designs"))
            stems = [path.stem for path in all_files(designs)]
            draw(list(zip(stems, found.values(), strict=True)), out, in_short=True)


def named_results(
    designs: tuple[str, ...], out: Path | None, fresh: bool, rule: dict[str, Any]
) -> dict[str, Result]:
    """Return results by label: files as they are, scenes traced, into `out` if it is given.

    What guides the first guides those that are traced after it, so that all share their luck, but
    what it suits badly: see engine.pilot.
    """
    from photonsim.engine.pilot import guide_beside

    found: dict[str, Result] = {}
    for path, scene_or_result in read_designs(designs):
        if hasattr(scene_or_result, "tallies"):
            result = scene_or_result
        else:
            asked = dict(rule)
            if found and rule["guide"] == "auto":
                guide = next(iter(found.values())).tallies.guide
                asked["guide"] = guide_beside(guide, scene_or_result, rule["seed"])
            result = traced(path, scene_or_result, out, fresh, asked)
        found[unused_label(result.scene.title or path.stem, path, found)] = result
    return found


def unused_label(title: str, path: Path, used: dict[str, Any]) -> str:
    """Return a design's label: its title, with the file's name where two share a title."""
    from photonsim.words.escaping import visible

    # A title has no control characters, a file's name may.
    title = visible(title, "")
    label, number = title, 2
    while label in used:
        stem = visible(path.stem, "")
        label = f"{title} ({stem})" if number == 2 else f"{title} ({stem}, {number})"
        number += 1
    return label
