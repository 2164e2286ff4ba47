"""The command to go on with, for copying: a scene of a study's best design."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from photonsim.cli.naming import Given
from photonsim.cli.output import print_text

if TYPE_CHECKING:
    from photonsim.results.files.sources import Source

BEST = "The best as a scene of its own:"
# What a line goes on with in the system's own shell.
GOES_ON = " ^" if os.name == "nt" else " \\"


def tell_scene(
    head: str, source: Source, given: Given, values: Mapping[str, float], target: str = "best.toml"
) -> None:
    """Tell the command that makes a scene of a design: its numbers, beside what was set already.

    Nothing is told of a design that is a scene file as it stands.
    """
    sets = dict(given.sets) | {path: f"{number:.9g}" for path, number in values.items()}
    if not sets and not source.variant and source.file.suffix == ".toml":
        return
    told = [f"--set {_quoted(path)} {_quoted(text)}" for path, text in sets.items()]
    tell_command(head, [f"photonsim check {_quoted(str(source))}", *told, f"--write {target}"])


def tell_compare(before: Source, after: Path) -> None:
    """Tell the command that puts a scene made of another beside it."""
    words = [_quoted(str(before)), _quoted(str(after))]
    tell_command("What it brings, side by side:", ["photonsim compare", *words])


def tell_command(head: str, words: Sequence[str]) -> None:
    """Print a command below its head, in lines of 80 columns that a shell reads as one."""
    from photonsim.words.text import LINE

    lines = [f"  {words[0]}"]
    for word in words[1:]:
        if len(lines[-1]) + 1 + len(word) + len(GOES_ON) <= LINE:
            lines[-1] += f" {word}"
        else:
            lines[-1] += GOES_ON
            lines.append(f"    {word}")
    print_text("\n".join(["", head, *lines]))


def _quoted(word: str) -> str:
    """Return a word as every shell reads it whole."""
    plain = re.fullmatch(r"[\w.:/\\+-]+", word)
    return word if plain else f'"{word}"'
