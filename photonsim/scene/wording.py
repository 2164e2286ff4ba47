"""What pydantic finds, told to a person: each mistake with its path, value and remedy."""

from __future__ import annotations

import datetime
import difflib
import types
from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any, NamedTuple, Union, get_args, get_origin

from pydantic import BaseModel, ValidationError

from photonsim.scene.fields import bare
from photonsim.scene.mistakes import Mistake, SceneError, join_path, once_each, write_value

_SECTIONS = {"emitters": "[emitters.bars]", "train": "[train.film]"}


class _Place(NamedTuple):
    """Where an error lies: its keys, the table around the last of them, and what belongs there."""

    keys: tuple[str | int, ...]
    table: Any
    expected: Any


def mistakes_of(error: ValidationError, model: type[BaseModel]) -> list[Mistake]:
    """Translate everything that a validation of `model` found."""
    details = error.errors(include_url=False)
    places = [_locate(model, detail["loc"]) for detail in details]
    # A suggestion for an unknown key makes the complaint that the right key is missing idle.
    suggested = {
        join_path(*place.keys[:-1], near)
        for place, detail in zip(places, details, strict=True)
        if detail["type"] == "extra_forbidden" and (near := _nearest_key(place))
    }
    found: list[Mistake] = []
    for place, detail in zip(places, details, strict=True):
        path = join_path(*place.keys)
        if detail["type"] == "missing" and path in suggested:
            continue
        if detail["type"] == "too_short" and len(detail["input"]) >= detail["ctx"]["min_length"]:
            continue  # long enough as written: pydantic counts only the values without a mistake
        if detail["type"] == "value_error" and isinstance(detail["ctx"]["error"], SceneError):
            found += [
                replace(mistake, path=".".join(filter(None, (path, mistake.path))))
                for mistake in detail["ctx"]["error"].mistakes
            ]
            continue
        found.append(_mistake(path, place, dict(detail)))
    return once_each(found)  # keys without a heading: once for the section is enough


def _nearest(word: str, choices: Iterable[str]) -> str | None:
    """The choice that a misspelt word is likely to mean, if any is near."""
    return next(iter(difflib.get_close_matches(word, list(choices), n=1, cutoff=0.6)), None)


def _locate(model: type[BaseModel], location: tuple[str | int, ...]) -> _Place:
    """Follow a location through the models, leaving out the tags that pydantic adds to it."""
    keys: list[str | int] = []
    table: Any = None
    here: Any = model
    for step in location:
        if get_origin(here) in (Union, types.UnionType):
            here = _kinds(here)[str(step)]
            continue
        keys.append(step)
        if isinstance(here, type) and issubclass(here, BaseModel):
            table = here
            field = here.model_fields.get(str(step))
            here = bare(field.annotation) if field else None
        else:
            items = [item for item in get_args(here) if item is not Ellipsis]
            here = bare(items[-1]) if items else None
    return _Place(tuple(keys), table, here)


def _kinds(union: Any) -> dict[str, Any]:
    """Return the models of a union by the kind that each of them is."""
    return {model.model_fields["kind"].default: model for model in get_args(union)}


def _is_bare_key(place: _Place, error_type: str) -> bool:
    """Whether a value stands where a named group should: [emitters] with keys right under it."""
    return (
        len(place.keys) == 2
        and place.keys[0] in _SECTIONS
        and error_type in ("model_type", "model_attributes_type")
    )


def _without_heading(section: str) -> Mistake:
    advice = f"begin each group with a heading such as {_SECTIONS[section]}"
    return Mistake(section, "keys stand here without a name", advice=advice)


def _nearest_key(place: _Place) -> str | None:
    """The known key that an unknown one is likely to mean, also if it only lacks its unit."""
    key, keys = str(place.keys[-1]), list(place.table.model_fields if place.table else ())
    with_unit = [known for known in keys if known.startswith(f"{key}_")]
    return with_unit[0] if len(with_unit) == 1 else _nearest(key, keys)


def _unknown_key(path: str, place: _Place) -> Mistake:
    if near := _nearest_key(place):
        return Mistake(path, "unknown key", advice=f"did you mean {near}?")
    keys = ", ".join(place.table.model_fields if place.table else ())
    return Mistake(path, "unknown key", advice=f"the keys here are {keys}")


def _missing(path: str, place: _Place) -> Mistake:
    key = place.keys[-1]
    if isinstance(key, str) and place.table:
        return replace(place.table.missing(key), path=path)
    return Mistake(path, "missing", advice="the list needs one more value")


def _mistake(path: str, place: _Place, detail: dict[str, Any]) -> Mistake:
    kind, value, context = detail["type"], detail["input"], detail.get("ctx", {})
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        return _wrong_kind(path, value, tuple(_kinds(place.expected)))
    if _is_bare_key(place, kind) and not isinstance(value, list):
        return _without_heading(str(place.keys[0]))
    if kind == "extra_forbidden":
        return _unknown_key(path, place)
    if kind == "missing":
        return _missing(path, place)
    if kind == "literal_error":
        return _not_a_choice(path, value, get_args(place.expected))
    if kind in _RANGES:
        words, key = _RANGES[kind]
        return Mistake(path, f"must be {words} {context[key]:g}", value)
    if kind in _TYPES:
        return _wrong_type(path, value, _TYPES[kind])
    if kind in _OTHERS:
        return Mistake(path, _OTHERS[kind](context), value)
    return Mistake(path, detail["msg"], value)


def _wrong_kind(path: str, table: dict[str, Any], kinds: tuple[str, ...]) -> Mistake:
    if "kind" not in table:
        listed = ", ".join(map(write_value, kinds))
        return Mistake(f"{path}.kind", "missing", advice=f"one of {listed}")
    return _not_a_choice(f"{path}.kind", table["kind"], kinds)


def _not_a_choice(path: str, value: object, choices: tuple[str, ...]) -> Mistake:
    near = _nearest(value, choices) if isinstance(value, str) else None
    problem = f"must be one of {', '.join(write_value(choice) for choice in choices)}"
    return Mistake(path, problem, value, f"did you mean {write_value(near)}?" if near else "")


def _wrong_type(path: str, value: object, wanted: str) -> Mistake:
    advice = ""
    if isinstance(value, str) and wanted in ("a number", "a whole number"):
        advice = "write numbers without quotes, with a point for the decimals"
    elif isinstance(value, float) and wanted == "a whole number":
        advice = "write it without a decimal point"
    elif wanted == "a table":
        advice = f"write a heading, [{path}], and its keys below" if path else ""
    return Mistake(path, f"must be {wanted}, not {_type_of(value)}", value, advice)


def _type_of(value: object) -> str:
    return _VALUE_TYPES.get(type(value), type(value).__name__)


def _values(count: int) -> str:
    return "one value" if count == 1 else f"{count} values"


# What pydantic calls an error, and the words and the key of its limit.
_RANGES = {
    "greater_than": ("greater than", "gt"),
    "greater_than_equal": ("at least", "ge"),
    "less_than": ("less than", "lt"),
    "less_than_equal": ("at most", "le"),
}
_TYPES = {
    "float_type": "a number",
    "int_type": "a whole number",
    "string_type": "text",
    "bool_type": "true or false",
    "tuple_type": "a list",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
}
_VALUE_TYPES: dict[type, str] = {
    bool: "true or false",
    int: "a whole number",
    float: "a decimal number",
    str: "text",
    list: "a list",
    tuple: "a list",
    dict: "a table",
    type(None): "nothing",
    datetime.date: "a date",
    datetime.time: "a time",
    datetime.datetime: "a date and time",
}
_OTHERS: dict[str, Callable[[dict[str, Any]], str]] = {
    "finite_number": lambda _: "must be a finite number",
    "string_too_long": lambda limit: f"is longer than {limit['max_length']} characters",
    "too_short": lambda limit: f"must have at least {_values(limit['min_length'])}",
    "too_long": lambda limit: f"must have {_values(limit['max_length'])} at most",
}
