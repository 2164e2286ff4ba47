"""Variants: a lamp told by what is otherwise than in the scene, under [variants.NAME].

A variant holds paths and values, `train.film.z_mm = 16`; dotted keys, quoted paths and tables of
their own mean the same.
"""

from __future__ import annotations

import datetime
import difflib
import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from pydantic import AfterValidator

from photonsim.scene.cross_checks import LONGEST_NAME, PART_NAME
from photonsim.scene.mistakes import Mistake, SceneError, join_path
from photonsim.scene.paths import keys_of

MOST_VARIANTS = 100
MOST_VALUES = 1000


def _refuse_odd(variants: dict[str, dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Refuse names that make no file's name, and values that no scene has."""
    found = [] if len(variants) <= MOST_VARIANTS else [Mistake("", f"more than {MOST_VARIANTS}")]
    for name, table in list(variants.items())[:MOST_VARIANTS]:
        if not PART_NAME.fullmatch(name) or len(name) > LONGEST_NAME:
            problem = "a name begins with a small letter and goes on with a-z, 0-9 and _"
            found.append(Mistake(join_path(name), problem, advice=f"{LONGEST_NAME} at most"))
        elif "variants" in table:
            found.append(Mistake(join_path(name, "variants"), "a variant has none of its own"))
        else:
            found += _odd_values(table, (name,))
    if found:
        raise SceneError(found)
    return variants


def _odd_values(value: Any, keys: tuple[str | int, ...]) -> Iterator[Mistake]:
    if isinstance(value, dict):
        for key, item in value.items():
            yield from _odd_values(item, (*keys, key))
    elif isinstance(value, list | tuple):
        for place, item in enumerate(value):
            yield from _odd_values(item, (*keys, place))
    elif isinstance(value, float) and not math.isfinite(value):
        yield Mistake(join_path(*keys), "must be a finite number", value)
    elif isinstance(value, datetime.date | datetime.time):
        yield Mistake(join_path(*keys), "must be a number, text or true or false", str(value))


Variants = Annotated[dict[str, dict[str, Any]], AfterValidator(_refuse_odd)]


def values_of(variants: Mapping[str, Mapping[str, Any]], name: str) -> dict[str, Any]:
    """Return what a variant sets, by path. Raises SceneError where there is no such variant."""
    if name not in variants:
        near = difflib.get_close_matches(name, list(variants), n=1, cutoff=0.6)
        advice = f"there are {', '.join(variants)}" if variants else "the scene has none"
        problem = "there is no such variant"
        advice = f"did you mean {near[0]}?" if near else advice
        raise SceneError([Mistake(join_path("variants", name), problem, advice=advice)])
    found: dict[str, Any] = {}
    for path, value in _values(variants[name], ""):
        if path in found:
            raise SceneError([Mistake(join_path("variants", name), f"sets {path} twice")])
        found[path] = value
    return found


def _values(table: Mapping[str, Any], path: str) -> Iterator[tuple[str, Any]]:
    """Yield paths and values of a variant's table. A key with dots or brackets is a path itself."""
    for key, value in table.items():
        step = key if not path and any(mark in key for mark in '."[') else join_path(key)
        here = f"{path}.{step}" if path else step
        keys_of(here)
        if isinstance(value, dict):
            yield from _values(value, here)
        else:
            yield here, value
