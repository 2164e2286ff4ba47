"""How scenes and results are named on the command line: files, folders, variants, values set."""

from __future__ import annotations

import functools
import re
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

import click

from photonsim.cli.options import Decorator, adding


class Given(NamedTuple):
    """Scenes as they were named, what is set in each of them, and the file to write that to."""

    names: tuple[str, ...]
    sets: tuple[tuple[str, str], ...] = ()
    write: Path | None = None

    @property
    def values(self) -> dict[str, Any]:
        """What is set, by path. Raises ResultError where a path is given twice."""
        from photonsim.results import ResultError

        found: dict[str, Any] = {}
        for path, text in self.sets:
            if path in found:
                raise ResultError(f"--set {path}: is given twice; give it once")
            found[path] = value_of(text)
        return found


def value_of(text: str) -> Any:
    """Return a value as it stands in TOML: a number, true or false, a list, or else plain text."""
    try:
        found = tomllib.loads(f"value = {text}")
    except (tomllib.TOMLDecodeError, RecursionError, ValueError):
        return text
    return found["value"] if len(found) == 1 else text


def remark_of(values: dict[str, Any]) -> str:
    """Return in short what was set: 'film.z_mm 16, film.strips.gap_mm 8 and 2 more'."""
    from photonsim.scene import shortly

    short = (re.sub(r"^(train|emitters)\.", "", path) for path in values)
    told = zip(short, values.values(), strict=True)
    return shortly(
        ["no " + path if value is False else f"{path} {_plain(value)}" for path, value in told]
    )


def _plain(value: Any) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def takes_scenes(
    metavar: str = "SCENE...", argument: str = "scenes", write: bool = True
) -> Decorator:
    """Return a decorator that gives a command the argument `argument`, a Given.

    It takes one name, or several where the metavar ends with dots; and the options --set and
    --write that go with them.
    """
    several = metavar.endswith("...")
    options = [
        click.argument("names", nargs=-1 if several else 1, required=True, metavar=metavar),
        click.option(
            "--set",
            "sets",
            type=(str, str),
            multiple=True,
            metavar="PATH VALUE",
            help="Set a value of the scene for this run, such as train.film.z_mm 16; false takes "
            "a part out; may be given again.",
        ),
    ]
    if write:
        options.append(
            click.option(
                "--write",
                type=click.Path(path_type=Path),
                metavar="FILE",
                help="Write the scene with what was set to a file of its own, comments kept.",
            )
        )

    def add(command: Callable[..., Any]) -> Callable[..., Any]:
        @functools.wraps(command)
        def given_to_command(
            names: Sequence[str] | str, sets: tuple[tuple[str, str], ...], **rest: Any
        ) -> Any:
            named = (names,) if isinstance(names, str) else tuple(names)
            target = rest.pop("write") if write else None
            return command(**{argument: Given(named, sets, target)}, **rest)

        return adding(*options)(given_to_command)

    return add
