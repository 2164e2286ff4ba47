"""Scene text as TOML: a table of plain values in, and a scene out."""

from __future__ import annotations

import re
import tomllib
from typing import Any

import tomlkit
from tomlkit.items import Table

from photonsim.scene.mistakes import Mistake, SceneError
from photonsim.scene.model import SceneModel
from photonsim.scene.unfinished import Unfinished

_PLACE = re.compile(r"\s*\(at (line \d+, column \d+|end of document)\)$")


def read_toml(text: str, where: str) -> dict[str, Any]:
    """Read TOML text to plain values. Raises SceneError with line and column if it is not TOML."""
    try:
        return tomllib.loads(text)
    except RecursionError:
        problem, place = "the brackets are nested too deeply", ""
    except tomllib.TOMLDecodeError as error:
        found = _PLACE.search(str(error))
        place = found.group(1) if found else ""
        problem = f"this is not TOML: {_PLACE.sub('', str(error))}"
    except ValueError:  # Python refuses to read integers of thousands of digits
        problem, place = "a whole number has far too many digits", ""
    raise SceneError([Mistake(place, problem)], where) from None


def to_toml(scene: SceneModel) -> str:
    """Write a scene as TOML that reads back to an equal scene. Unset defaults are left out."""
    document = tomlkit.document()
    _fill(document, scene)
    return tomlkit.dumps(document)


def _fill(table: tomlkit.TOMLDocument | Table, model: SceneModel) -> None:
    """Write plain values before tables: a value after a heading would belong to that heading."""
    nested: dict[str, Any] = {}
    for key in sorted(type(model).model_fields, key=lambda key: key != "kind"):
        value = getattr(model, key)
        if value is None or (key not in model.model_fields_set and key != "kind"):
            continue
        if isinstance(value, SceneModel | dict):
            nested[key] = value
        elif isinstance(value, Unfinished):
            nested[key] = value.values
        elif isinstance(value, str):
            # A return in a text of several lines would be read back as a line end: escape it.
            several_lines = "\n" in value and "\r" not in value
            table.add(key, tomlkit.string(value, multiline=several_lines))
        else:
            table.add(key, _plain(value))
    for key, value in nested.items():
        table.add(key, _table(value))


def _table(value: SceneModel | dict[str, Any]) -> Table:
    if isinstance(value, SceneModel):
        table = tomlkit.table()
        _fill(table, value)
        return table
    if not all(isinstance(inner, SceneModel) for inner in value.values()):
        table = tomlkit.item(value)  # variants, and what is unfinished: plain values
        assert isinstance(table, Table)
        return table
    groups = tomlkit.table(is_super_table=True)
    for name, inner in value.items():
        groups.add(name, _table(inner))
    return groups


def _plain(value: Any) -> Any:
    # A list is read from its text: put together item by item, one of 10,000 strips took 50 s.
    return tomlkit.value(_written(value)) if isinstance(value, tuple) else value


def _written(value: Any) -> str:
    if isinstance(value, tuple):
        return f"[{', '.join(map(_written, value))}]"
    return tomlkit.item(value).as_string()
