"""Scene text as TOML, written: a scene, or text with some values changed and all else kept.

Most runs write none, and the library that does takes 0.005 s of a start: import this on use.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.items import Table

from photonsim.scene.model import SceneModel
from photonsim.scene.unfinished import Unfinished

Keys = tuple[str, ...]


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


def rewritten(text: str, values: Mapping[Keys, Any], without: tuple[Keys, ...] = ()) -> str:
    """Return scene text in which the values at some keys are set and other keys left out.

    A key is its path, such as ("emitters", "bars", "flux_lm"), in a table that is there. Raises
    KeyError for a table that is not.
    """
    document = tomlkit.parse(text)
    for key in without:
        _table_at(document, key).remove(key[-1])
    for key, value in values.items():
        table = _table_at(document, key)
        if isinstance(value, str) and "\n" in value:
            # A return would be read back as a line end, so with one the text is escaped instead.
            table[key[-1]] = tomlkit.string(value, multiline="\r" not in value)
        else:
            table[key[-1]] = value
    return tomlkit.dumps(document)


def _table_at(document: tomlkit.TOMLDocument, key: Keys) -> Any:
    table: Any = document
    for step in key[:-1]:
        table = table[step]
    return table
