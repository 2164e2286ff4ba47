"""Options and kinds of argument that several commands share."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import click

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


def adding(*options: Decorator) -> Decorator:
    """Return a decorator that gives a command some options, in the order of its help."""

    def add(command: Callable[..., Any]) -> Callable[..., Any]:
        for option in reversed(options):
            command = option(command)
        return command

    return add


class PhotonCount(click.ParamType):
    """A whole number of photons, also written 2e6 or 2_000_000."""

    name = "photons"

    def convert(self, value: Any, param: Any, ctx: Any) -> int:
        """Return the count, or tell what is wrong with it."""
        try:
            number = float(str(value).replace("_", "").replace(",", ""))
        except ValueError:
            self.fail(f"{value!r} is not a number of photons; write 2000000 or 2e6")
        if not (1 <= number <= 1e14 and number == int(number)):
            self.fail(f"{value!r} must be a whole number from 1 to 1e14")
        return int(number)


class FiniteRange(click.FloatRange):
    """A number within bounds; nan lies within none, though no comparison tells so."""

    def convert(self, value: Any, param: Any, ctx: Any) -> float:
        """Return the number, or tell what is wrong with it."""
        number = float(super().convert(value, param, ctx))
        if not math.isfinite(number):
            self.fail(f"{value!r} must be a finite number", param, ctx)
        return number


class FigureCommand(click.Command):
    """A command whose help ends with the figures of merit: the names and words options take."""

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the figures of merit below the options."""
        from photonsim.results import FIGURES

        with formatter.section("FIGURE, by name or by words"):
            formatter.write_dl([(name, figure.heading) for name, figure in FIGURES.items()])


class FigureName(click.ParamType):
    """A figure of merit, by its name or by the words in a table's heading."""

    name = "figure"

    def convert(self, value: Any, param: Any, ctx: Any) -> str:
        """Return the figure's name, or tell what is near and what there is."""
        from photonsim.results import ResultError, figure_named
        from photonsim.words.escaping import visible

        try:
            return figure_named(str(value)).name
        except ResultError as error:
            self.fail(visible(str(error)), param, ctx)


seed_option = click.option(
    "--seed",
    type=click.IntRange(0),
    default=1,
    show_default=True,
    help="Seed of the random numbers, shared by all designs.",
)
threads_option = click.option("--threads", type=click.IntRange(1, 1024), help="Threads [all].")
figure_option = click.option(
    "--figure",
    type=FigureName(),
    default="collected_fraction",
    show_default=True,
    help="The figure of merit that --relative-error speaks of.",
)
guide_option = click.option(
    "--guide",
    default="auto",
    show_default=True,
    metavar="auto|off|RESULT",
    help="Send more photons, of less weight each, where light is collected, as a short pilot of "
    "the (first) scene finds it; as RESULT did, such as a row of a study; or as the emitters do.",
)


# How long to trace and with what.
run_options = adding(
    click.option(
        "--photons",
        type=PhotonCount(),
        help="Photons a design [33,554,432 where no other end is given].",
    ),
    seed_option,
    guide_option,
    click.option(
        "--relative-error",
        type=FiniteRange(0, 1, True, True),
        help="Stop when the relative error of --figure is down to this.",
    ),
    figure_option,
    click.option("--seconds", type=FiniteRange(0, min_open=True), help="Stop after this time."),
    click.option(
        "--fit-to-print",
        is_flag=True,
        help="Stop when the map of collected light is fit to publish: 2,000 blocks to 3 %.",
    ),
    threads_option,
    click.option(
        "--device",
        type=click.Choice(["cpu", "cuda"]),
        default="cpu",
        show_default=True,
        help="What traces: the processor, or NVIDIA GPUs.",
    ),
    click.option(
        "--precision",
        type=click.Choice(["single", "double"]),
        default="single",
        show_default=True,
        help="Of a GPU's arithmetic; the processor's is always double.",
    ),
    click.option(
        "--save-every",
        type=FiniteRange(0.1),
        default=30.0,
        show_default=True,
        help="Seconds between saves of a running trace.",
    ),
)
