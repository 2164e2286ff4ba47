"""The options of pictures: their files, how wide they are, what is written on them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from photonsim.cli.options import FiniteRange, adding

if TYPE_CHECKING:
    from photonsim.figures import Look

FORMATS = ("png", "svg", "pdf")


class Names(click.ParamType):  # type: ignore[type-arg]
    """Names with commas between them, each of a list."""

    name = "names"

    def __init__(self, known: tuple[str, ...]) -> None:
        self.known = known

    def convert(self, value: Any, param: Any, ctx: Any) -> tuple[str, ...]:
        """Return the names. Fails with those that are known for one that is not."""
        if isinstance(value, tuple):
            return value
        names = tuple(name.strip() for name in value.split(","))
        for name in names:
            if name not in self.known:
                self.fail(f"{name!r} is none of {', '.join(self.known)}", param, ctx)
        return names


# Of all commands that draw results.
look_options = adding(
    click.option(
        "--format",
        "formats",
        type=Names(FORMATS),
        default="png",
        show_default=True,
        metavar="KINDS",
        help="Kinds of picture file: png,svg,pdf.",
    ),
    click.option(
        "--dpi",
        type=click.IntRange(50, 1200),
        default=200,
        show_default=True,
        help="Dots per inch of PNG.",
    ),
    click.option(
        "--width-mm",
        type=FiniteRange(120.0, 400.0),
        default=None,
        help="Width; words keep their size. Default: 160, for slides 127.",
    ),
    click.option("--no-labels", is_flag=True, help="No words over maps."),
    click.option(
        "--style",
        type=click.Choice(["print", "slides"]),
        default="print",
        show_default=True,
        help="For slides words are larger beside the drawing, without small print.",
    ),
)


def look_of(options: dict[str, Any]) -> Look:
    """Return how figures are laid out by the options of `look_options`."""
    from photonsim.figures import PRINT, SLIDES
    from photonsim.figures.style import MM_PER_INCH

    look = SLIDES if options["style"] == "slides" else PRINT
    width_mm = options["width_mm"]
    width_in = look.width_in if width_mm is None else width_mm / MM_PER_INCH
    return look._replace(width_in=width_in, labels=not options["no_labels"])


def figure_names(only: str | None) -> tuple[str, ...]:
    """Return the figures that are wanted; all where none is named. Raises click.BadParameter."""
    from photonsim.figures import NAMES

    return NAMES if only is None else Names(NAMES).convert(only, None, None)
