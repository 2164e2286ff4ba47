"""A scene's text with some values changed and everything else kept, comments included."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomlkit

KEY = tuple[str, ...]


def rewritten(text: str, values: Mapping[KEY, Any], without: tuple[KEY, ...] = ()) -> str:
    """Return scene text in which the values at some keys are set and other keys left out.

    A key is its path, such as ("emitters", "bars", "flux_lm"), in a table that is there. Raises
    KeyError for a table that is not.
    """
    document = tomlkit.parse(text)
    for key in without:
        _table(document, key).remove(key[-1])
    for key, value in values.items():
        table = _table(document, key)
        if isinstance(value, str) and "\n" in value:
            # A return would be read back as a line end, so with one the text is escaped instead.
            table[key[-1]] = tomlkit.string(value, multiline="\r" not in value)
        else:
            table[key[-1]] = value
    return tomlkit.dumps(document)


def _table(document: tomlkit.TOMLDocument, key: KEY) -> Any:
    table: Any = document
    for step in key[:-1]:
        table = table[step]
    return table
