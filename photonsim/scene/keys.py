"""Every key of a scene file, as the models have it: name, unit, range, default, a sentence."""

from __future__ import annotations

import math
import types
from collections.abc import Iterator
from typing import Any, Literal, NamedTuple, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt
from pydantic.fields import FieldInfo

from photonsim.scene.fields import bare, is_number, is_table
from photonsim.scene.mistakes import write_value
from photonsim.scene.model import SceneModel
from photonsim.scene.paths import COUNT, GAP
from photonsim.scene.scene import Scene
from photonsim.scene.strips import Strips
from photonsim.scene.train import PART_CLASSES

NEEDED, LEFT_OUT = "needed", "left out"
# By the ending of a key, the longest that fits; a number without one is a share or a bare figure.
_UNITS = {
    "w_per_m_k": "W/(m K)",
    "lm_per_w": "lm/W",
    "k_per_w": "K/W",
    "voltage_per_k": "V/K",
    "per_k": "1/K",
    "mm": "mm",
    "deg": "°",
    "nm": "nm",
    "lm": "lm",
    "lux": "lx",
    "ma": "mA",
    "v": "V",
    "ohm": "ohm",
    "c": "°C",
}
_DERIVED = (
    (GAP, "mm", "above 0, below the pitch", "the pitch less the width"),
    (COUNT, "", "1 or more", "so many equal strips over the whole sheet, the covered share kept"),
)


class Key(NamedTuple):
    """A key: its name, its unit or nothing, what it may be, what holds if it is left out, words."""

    name: str
    unit: str
    allowed: str
    default: str
    words: str


class Section(NamedTuple):
    """A table of a scene file: its heading, the word it is asked for by, and its keys."""

    heading: str
    name: str
    keys: tuple[Key, ...]


def sections() -> list[Section]:
    """Return all tables of a scene file with their keys, in the order of a scene file."""
    return list(_sections(Scene, "", "scene"))


def sections_named(word: str) -> list[Section]:
    """Return the tables of a name, such as `walls` or `prism_film`; else those with such a key.

    Of the latter only that key; nothing where there is neither.
    """
    word = word.strip("[]").lower()
    found = sections()
    tables = [one for one in found if word in (one.name, one.name.rpartition(".")[2])]
    if tables:
        return tables
    chosen = [
        one._replace(keys=tuple(key for key in one.keys if key.name == word)) for one in found
    ]
    return [one for one in chosen if one.keys]


def words_to_ask_by() -> list[str]:
    """Return every word that `sections_named` knows."""
    found = sections()
    return [*(one.name for one in found), *(key.name for one in found for key in one.keys)]


def _sections(model: type[SceneModel], path: str, name: str) -> Iterator[Section]:
    """Yield the section of a table, and those of the tables within."""
    keys: list[Key] = []
    inner: list[tuple[type[SceneModel], str, str]] = []
    for key, field in sorted(model.model_fields.items(), key=lambda item: item[0] != "kind"):
        kind = bare(field.annotation)
        if is_table(kind):
            keys.append(key_of(key, field))
            word = key if path.startswith("train") else f"{name}.{key}"
            inner.append((kind, f"{path}.{key}".strip("."), word))
        elif get_origin(kind) is dict and key == "train":
            inner += [(part, f"train.NAME:{word}", word) for word, part in PART_CLASSES.items()]
        elif get_origin(kind) is dict and is_table(get_args(kind)[1]):
            inner.append((get_args(kind)[1], f"{key}.NAME", key))
        else:
            keys.append(key_of(key, field))
    if issubclass(model, Strips):
        keys += [
            Key(
                name, unit, allowed, "", f"{words}; where numbers are set: variants, --set, studies"
            )
            for name, unit, allowed, words in _DERIVED
        ]
    yield Section(_heading(path), name.removeprefix("scene."), tuple(keys))
    seen: set[str] = set()
    for table, place, word in inner:
        # Strips are told once, though every sheet may have them.
        for section in _sections(table, place, word):
            if section.heading not in seen:
                seen.add(section.heading)
                yield section


def _heading(path: str) -> str:
    """Return the heading of a table, [train.NAME] of a part with its kind behind."""
    place, _, rest = path.partition(":")
    kind, _, within = rest.partition(".")
    if within:
        return f"[{place}.{within}]"
    return f'[{place}] kind = "{kind}"' if kind else f"[{place}]" if place else ""


def key_of(name: str, field: FieldInfo) -> Key:
    """Return what is told of a key."""
    unit = ""
    if _holds_numbers(bare(field.annotation)):
        endings = [end for end in _UNITS if name == end or name.endswith(f"_{end}")]
        unit = _UNITS[max(endings, key=len)] if endings else ""
    default = NEEDED if field.is_required() else _default(field.default)
    if name == "kind":
        default = NEEDED
    return Key(name, unit, _allowed(field), default, field.description or "")


def _default(value: Any) -> str:
    if value is None or value in ("", {}) or isinstance(value, SceneModel):
        return LEFT_OUT
    return f"{value:g}" if isinstance(value, float) else write_value(value)


def _holds_numbers(kind: Any) -> bool:
    items = [one for one in get_args(kind) if one is not Ellipsis]
    return is_number(kind) or (get_origin(kind) is tuple and _holds_numbers(bare(items[0])))


def _allowed(field: FieldInfo) -> str:
    """Return in words what a key may be."""
    kind = bare(field.annotation)
    if get_origin(kind) is Literal:
        choices = [write_value(one) for one in get_args(kind)]
        return " or ".join(choices) if len(choices) < 3 else ", ".join(choices)
    if get_origin(kind) is tuple:
        item = get_args(kind)[0]
        pairs = get_origin(bare(item)) is tuple
        return "a list of pairs" if pairs else f"a list, each {_range(_limits(item))}"
    if is_table(kind) or get_origin(kind) is dict:
        return "a table" if is_table(kind) else "tables"
    if kind is bool:
        return "true or false"
    if kind is str:
        return "text"
    return _range([*field.metadata, *_limits(field.annotation)])


def bounds_of(field: FieldInfo) -> tuple[float, float]:
    """Return the least and the largest value of a key; infinite where it has no such limit."""
    low, high = -math.inf, math.inf
    for limit in [*field.metadata, *_limits(field.annotation)]:
        low = max(low, *(getattr(limit, name, low) for name in ("ge", "gt")))
        high = min(high, *(getattr(limit, name, high) for name in ("le", "lt")))
    return low, high


def _limits(annotation: Any) -> list[Any]:
    """Return all constraints in an annotation, those behind `| None` too."""
    found: list[Any] = []
    for one in getattr(annotation, "__metadata__", ()):
        found += getattr(one, "metadata", [one])
    if hasattr(annotation, "__metadata__"):
        found += _limits(get_args(annotation)[0])
    elif get_origin(annotation) in (Union, types.UnionType):
        for member in get_args(annotation):
            found += _limits(member)
    return found


def _range(limits: list[Any]) -> str:
    """Return the range that all limits leave, whatever order pydantic keeps them in."""
    lows: list[tuple[Any, str]] = [(limit.ge, "") for limit in limits if isinstance(limit, Ge)]
    lows += [(limit.gt, "above ") for limit in limits if isinstance(limit, Gt)]
    highs: list[tuple[Any, str]] = [(limit.le, "") for limit in limits if isinstance(limit, Le)]
    highs += [(limit.lt, "below ") for limit in limits if isinstance(limit, Lt)]
    low, high = (
        f"{word}{value:,.9g}" if ends else ""
        for ends, pick in ((lows, max), (highs, min))
        for value, word in [pick(ends, default=(0.0, ""))]
    )
    if low and high:
        return f"{low} to {high}"
    return f"{low} or more" if low else f"up to {high}" if high else ""
