"""What is wrong with a scene: one `Mistake` a line, all of them together in a `SceneError`."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_MOST_SHOWN = 40  # mistakes on one screen; the first of them are the ones to mend first
_LONGEST_VALUE = 60  # characters of a value that still fit beside its path on a terminal line


class _NoValue:
    """Marks a mistake that has no value to show, such as a missing key."""

    def __repr__(self) -> str:
        return "NO_VALUE"

    def __reduce__(self) -> str:
        return "NO_VALUE"  # keeps identity through pickling, so that `is` stays true in workers


NO_VALUE = _NoValue()


def join_path(*keys: str | int) -> str:
    """Write keys as a TOML path: `train.film.strips.covered_mm[2]`; odd names are quoted."""
    path = ""
    for key in keys:
        if isinstance(key, int):
            path += f"[{key}]"
            continue
        written = key if _BARE_KEY.fullmatch(key) else write_value(key)
        path = f"{path}.{written}" if path else written
    return path


def write_value(value: object) -> str:
    """Write a value as it would stand in TOML, shortened to one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        visible = (c if c.isprintable() else c.encode("unicode_escape").decode() for c in escaped)
        return f'"{_shorten("".join(visible))}"'
    if isinstance(value, list | tuple):
        return f"[{_shorten(', '.join(write_value(item) for item in value[:_LONGEST_VALUE]))}]"
    if isinstance(value, dict):
        return "{...}" if value else "{}"
    return _shorten(str(value))


def _shorten(text: str) -> str:
    return text if len(text) <= _LONGEST_VALUE else text[: _LONGEST_VALUE - 3] + "..."


@dataclass(frozen=True)
class Mistake:
    """One thing that is wrong.

    `path` is where it stands (`train.film.z_mm`; empty for the file as a whole), `value` what
    stands there (`NO_VALUE` if nothing), `problem` what is wrong, `advice` what to do about it.
    """

    path: str
    problem: str
    value: Any = NO_VALUE
    advice: str = ""

    def __str__(self) -> str:
        place = self.path
        if place and self.value is not NO_VALUE:
            place += f" = {write_value(self.value)}"
        sentence = f"{place}: {self.problem}" if place else self.problem
        return f"{sentence}; {self.advice}" if self.advice else sentence


def once_each(mistakes: Iterable[Mistake]) -> list[Mistake]:
    """Return mistakes in their order, what reads alike once.

    By their words: a list of them may be long, and the values of some have no hash.
    """
    kept: dict[str, Mistake] = {}
    for mistake in mistakes:
        kept.setdefault(str(mistake), mistake)
    return list(kept.values())


class SceneError(ValueError):
    """A scene that can't be used; `mistakes` holds everything found, `where` names the scene."""

    def __init__(self, mistakes: Sequence[Mistake], where: str = "scene") -> None:
        super().__init__(mistakes, where)
        self.mistakes = list(mistakes)
        self.where = where

    def __str__(self) -> str:
        count = len(self.mistakes)
        heading = f"{self.where}: {count} mistake{'' if count == 1 else 's'}"
        lines = [heading, *(f"  {mistake}" for mistake in self.mistakes[:_MOST_SHOWN])]
        if count > _MOST_SHOWN:
            lines.append(f"  and {count - _MOST_SHOWN:,} more")
        return "\n".join(lines)
