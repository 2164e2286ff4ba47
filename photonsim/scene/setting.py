"""Values of a scene set anew by their path, in its plain tables or in its text, comments kept.

A value is what TOML has for it, and `false` for a key, part or table takes it out. A part that the
scene has not is added by giving its keys.
"""

from __future__ import annotations

import difflib
import math
import re
import tomllib
from collections.abc import Callable, Mapping
from numbers import Integral, Real
from typing import Any

from photonsim.scene.fields import is_number, is_table, is_whole_number
from photonsim.scene.mistakes import Mistake, SceneError
from photonsim.scene.paths import (
    COUNT,
    GAP,
    Keys,
    Lamp,
    extent_across,
    found_at,
    is_derived,
    keys_of,
    number_at,
    strips_at,
    unknown,
)

WHERE = "the changed scene"
# No number of a lamp is larger.
LARGEST = 1e15
_NAMED = ("train", "emitters")
Build = Callable[[dict[str, Any]], Lamp]
Values = Mapping[str, Any]


def changed_tables(
    scene: Lamp, values: Values, ties: Mapping[str, str], build: Build
) -> dict[str, Any]:
    """Return the plain tables of a scene with values set anew; `build` makes a scene of tables.

    Raises SceneError for what the scene has not; whether the rest fits, validation tells.
    """
    tables = tomllib.loads(scene.text)
    _change(tables, scene, values, ties, build)
    return _placed(tables, _new_names(scene, values))


def changed_text(
    scene: Lamp, values: Values, ties: Mapping[str, str], build: Build, tables: dict[str, Any]
) -> str | None:
    """Return the text of a scene, comments kept, that reads as the tables changed so.

    None where the text is laid out too oddly to be changed in place.
    """
    # As in scene/writing.py: 0.005 s of a start, and most designs of a study are never written.
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        text = _with_headings(scene.text, tables["train"], _new_names(scene, values))
        document = tomlkit.parse(text)
        _change(document, scene, values, ties, build)
        text = tomlkit.dumps(document)
        read = tomllib.loads(text)
    except (TOMLKitError, tomllib.TOMLDecodeError, KeyError, TypeError):
        return None
    in_order = list(read["train"]) == list(tables["train"])
    return text if read == tables and in_order else None


def _change(
    tables: Any, scene: Lamp, values: Values, ties: Mapping[str, str], build: Build
) -> None:
    """Set values in the tables of a scene, plain ones before those that follow from others."""
    for path in (*ties, *ties.values()):
        number_at(scene, path)
    derived = {path: value for path, value in values.items() if is_derived(keys_of(path))}
    new = _new_names(scene, values) | _new_kinds(values)
    mistakes: list[Mistake] = []
    for path, value in values.items():
        if path not in derived:
            try:
                _set(tables, scene, path, value, new)
            except SceneError as error:
                mistakes += error.mistakes
    if mistakes:
        raise SceneError(mistakes, WHERE)
    for path, source in ties.items():
        _put(tables, keys_of(path), _at(tables, scene, source))
    for path, value in derived.items():
        if keys_of(path)[-1] == COUNT:
            # The sheet may take its size from the housing, so the rest must stand first.
            plain = tables if type(tables) is dict else tables.unwrap()
            _put_count(tables, build(plain), path, _number(path, value, whole=True))
    for path, value in derived.items():
        if keys_of(path)[-1] == GAP:
            _put_gap(tables, scene, path, float(_number(path, value, whole=False)))


def _new_names(scene: Lamp, values: Values) -> set[Keys]:
    """Return the parts and groups that values add. Raises SceneError for misspelt ones."""
    new: set[Keys] = set()
    mistakes: list[Mistake] = []
    for path in values:
        keys = keys_of(path)
        if len(keys) < 3 or keys[0] not in _NAMED or keys[:2] in new:
            continue
        there = getattr(scene, str(keys[0]))
        if keys[1] in there:
            continue
        one = "part" if keys[0] == "train" else "group of emitters"
        # A part is known by its kind, a group by its light.
        sign = f"{keys[0]}.{keys[1]}.{'kind' if keys[0] == 'train' else 'flux_lm'}"
        near = difflib.get_close_matches(str(keys[1]), list(there), n=1, cutoff=0.6)
        if sign not in values:
            advice = f"did you mean {near[0]}?" if near else f"there are {', '.join(there)}"
            problem = f"the scene has no {one} {keys[1]}"
            mistakes.append(Mistake(path, problem, advice=f"{advice}; {sign} adds one"))
        new.add(keys[:2])
    if mistakes:
        raise SceneError(mistakes, WHERE)
    return new


def _new_kinds(values: Values) -> set[Keys]:
    """Return the parts whose kind is set, and with it which keys they have."""
    paths = map(keys_of, values)
    return {keys[:2] for keys in paths if keys[0] == "train" and keys[2:] == ("kind",)}


def _set(tables: Any, scene: Lamp, path: str, value: Any, new: set[Keys]) -> None:
    keys = keys_of(path)
    found = found_at(scene, keys)
    if found is None and keys[:2] not in new:
        raise unknown(scene, path)
    kind = None if found is None else found.kind
    if value is False and kind is not bool:
        _take_out(tables, keys)
    elif is_number(kind) and isinstance(value, Real) and not isinstance(value, bool):
        if isinstance(keys[-1], int):
            _write_out(tables, scene, keys[:-1])
        _put(tables, keys, _number(path, value, is_whole_number(kind)))
    elif (is_table(kind) or _is_section(keys)) and not isinstance(value, dict):
        advice = "set its keys one by one, or false to take it out"
        raise SceneError([Mistake(path, "is a table", value, advice)], WHERE)
    else:
        _put(tables, keys, list(value) if isinstance(value, tuple) else value)


def _is_section(keys: Keys) -> bool:
    """Tell whether keys are those of named tables, or of one of them."""
    return keys == ("variants",) or (keys[0] in _NAMED and len(keys) < 3)


def _number(path: str, value: Any, whole: bool) -> float | int:
    """Return a number as TOML has it, of whatever kind it is (numpy has its own)."""
    number: Any = value
    if isinstance(value, bool) or not isinstance(value, Real):
        raise SceneError([Mistake(path, "must be a number", value)], WHERE)
    if abs(number) > LARGEST:
        raise SceneError([Mistake(path, f"is larger than {LARGEST:g}, as no lamp is")], WHERE)
    if isinstance(value, Integral):
        return int(number)
    real = float(number)
    if not whole:
        # 12.000000000000002 from a range is no length that anyone would write.
        return float(f"{real:.9g}")
    if not real.is_integer():
        raise SceneError([Mistake(path, "must be a whole number", real)], WHERE)
    return int(real)


def _write_out(tables: Any, scene: Lamp, keys: Keys) -> None:
    """Write out a list that is left out, which has its default, to set one item of it."""
    here = tables
    for key in keys:
        if isinstance(here, dict) and key not in here:
            found = found_at(scene, keys)
            _put(tables, keys, list(found.value if found else ()))
            return
        here = here[key]


def _put(tables: Any, keys: Keys, value: Any) -> None:
    here = tables
    for key in keys[:-1]:
        if isinstance(key, str) and key not in here:
            # tomlkit turns a plain table into one of its own.
            here[key] = {}
        here = here[key]
    here[keys[-1]] = value


def _take_out(tables: Any, keys: Keys) -> None:
    """Take a key out of its table; one that is not there may well be left out."""
    here = tables
    for key in keys[:-1]:
        if not isinstance(here, dict) or key not in here:
            return
        here = here[key]
    if isinstance(here, dict) and keys[-1] in here:
        del here[keys[-1]]


def _at(tables: Any, scene: Lamp, path: str) -> Any:
    here = tables
    for key in keys_of(path):
        if isinstance(here, dict) and key not in here:
            return number_at(scene, path)
        here = here[key]
    return here


def _put_count(tables: Any, scene: Lamp, path: str, count: float | int) -> None:
    """Spread so many strips evenly over the sheet, the covered share as before."""
    keys = keys_of(path)
    if count < 1:
        raise SceneError([Mistake(path, "must be at least 1", count)], WHERE)
    strips = strips_at(scene, keys, path)
    pitch = extent_across(scene, keys) / count
    width = pitch * (strips.width_mm or 0.0) / (strips.pitch_mm or 1.0)
    _put(tables, (*keys[:-1], "pitch_mm"), float(f"{pitch:.9g}"))
    _put(tables, (*keys[:-1], "width_mm"), float(f"{width:.9g}"))
    # An even number has a gap in the middle, an odd one a strip.
    _put(tables, (*keys[:-1], "offset_mm"), 0.0 if count % 2 else float(f"{0.5 * pitch:.9g}"))


def _put_gap(tables: Any, scene: Lamp, path: str, gap: float) -> None:
    keys = keys_of(path)
    strips_at(scene, keys, path)
    pitch = float(_at(tables, scene, path.removesuffix(GAP) + "pitch_mm"))
    if not 0.0 < gap < pitch:
        raise SceneError(
            [Mistake(path, f"must lie between 0 and the pitch, {pitch:g} mm", gap)], WHERE
        )
    _put(tables, (*keys[:-1], "width_mm"), float(f"{pitch - gap:.9g}"))


def _placed(tables: dict[str, Any], new: set[Keys]) -> dict[str, Any]:
    """Return tables with new parts of the train at their height; the others keep their order."""
    train: dict[str, Any] = {}
    added = {name: part for name, part in tables.get("train", {}).items() if ("train", name) in new}
    for name, part in tables.get("train", {}).items():
        if name in added:
            continue
        for other in [key for key in added if _height(added[key]) < _height(part)]:
            train[other] = added.pop(other)
        train[name] = part
    return tables | {"train": train | added} if new else tables


def _height(part: Any) -> float:
    z = part.get("z_mm") if isinstance(part, dict) else None
    return z if isinstance(z, int | float) else math.inf


def _with_headings(text: str, train: Mapping[str, Any], new: set[Keys]) -> str:
    """Return text with headings for new parts, each before that of the part behind it."""
    names = list(train)
    for place in reversed(range(len(names))):
        if ("train", names[place]) not in new:
            continue
        heading = f"[train.{names[place]}]\n"
        behind = names[place + 1] if place + 1 < len(names) else ""
        found = re.search(
            rf"^[ \t]*\[[ \t]*train[ \t]*\.[ \t]*{behind}[ \t]*\]", text, re.MULTILINE
        )
        at = found.start() if behind and found else len(text)
        before = text[:at] if not text[:at] or text[:at].endswith("\n") else f"{text[:at]}\n"
        text = f"{before}{heading}\n{text[at:]}"
    return text
