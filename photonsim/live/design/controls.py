"""The controls of the page, made from the scene's models: every number by part, along the light."""

from __future__ import annotations

import itertools
import math
import tomllib
from collections.abc import Iterator
from typing import Any, Literal, get_args, get_origin

from pydantic.fields import FieldInfo

from photonsim.live.design.parts import KINDS, SINGLE, optional_tables
from photonsim.scene import Mistake, Scene, SceneError
from photonsim.scene.fields import bare, is_number, is_table, is_whole_number
from photonsim.scene.keys import LEFT_OUT, NEEDED, Key, bounds_of, key_of
from photonsim.scene.mistakes import write_value
from photonsim.scene.model import SceneModel
from photonsim.scene.paths import GAP, number_at
from photonsim.scene.strips import Strips

# What is changed forty times an evening lies open; the rest is folded.
USUAL = {
    "train": ("z_mm", "haze", "half_angle_deg", "along_deg", "focal_mm", GAP, "offset_mm"),
    "emitters": ("flux_lm", "z_mm"),
    "housing": ("reflectance",),
    "screen": ("distance_mm", "picture_width_mm", "room_lux"),
}
USUAL_KINDS = {"aperture_stop": ("z_mm", "diameter_mm"), "panel": ("z_mm", "transmittance")}
# A slider has so many steps, about.
STEPS = 200
WIDEST_ANGLE = 90.0
_UNSHOWN = {"lm63_text", "lm63_file", "covered_mm"}
Table = dict[str, Any]


def groups_of(scene: Scene) -> list[Table]:
    """Return all controls of a scene by part, in the order of the light's way.

    `changes` are what can be done with a part: a command, the path that it takes, and words for it.
    The `kind` of a control is "number", "whole", "choice", "flag" or "list"; `low`, `high` and
    `step` are those of its slider, narrower than what the scene allows, if it has one.
    """
    return list(_groups(scene))


def _groups(scene: Scene) -> Iterator[Table]:
    several, train = len(scene.emitters) > 1, scene.train
    for name, emitter in scene.emitters.items():
        yield _group(scene, f"emitters.{name}", "emitters", emitter, several)
    yield _group(scene, "housing", "box", scene.housing, False)
    can_go = [part.kind not in SINGLE for part in train.values()]
    can_swap = [*map(all, itertools.pairwise(can_go)), False]
    for (name, part), goes, swaps in zip(train.items(), can_go, can_swap, strict=True):
        yield _group(scene, f"train.{name}", part.words, part, goes, swaps)
    optional = dict(optional_tables(scene))
    for name in ("screen", "light", "supply"):
        table = getattr(scene, name)
        if isinstance(table, SceneModel):
            yield _group(scene, name, "", table, name in optional)


def _group(
    scene: Scene, path: str, kind: str, table: SceneModel, can_go: bool, can_swap: bool = False
) -> Table:
    return {
        "path": path,
        "title": path.rpartition(".")[2],
        "kind": kind,
        "controls": list(_controls(scene, table, path)),
        "changes": list(_changes(table, path, can_go, can_swap)),
    }


def _changes(
    table: SceneModel, path: str, can_go: bool, can_swap: bool
) -> Iterator[tuple[str, str, str]]:
    """Yield what can be done: with tables that may be left out, with the part and the next one."""
    for name, is_there in optional_tables(table):
        how, verb = ("remove", "take out") if is_there else ("add", "add")
        yield how, f"{path}.{name}", f"{verb} {name.replace('_', ' ')}"
    if can_swap:
        yield "swap", path, "swap with next"
    if can_go:
        yield "remove", path, "take out"


def _controls(scene: Scene, table: SceneModel, path: str, within: str = "") -> Iterator[Table]:
    """Yield the controls of a table, then those of the tables within it."""
    inner: list[tuple[str, SceneModel]] = []
    for name, about in type(table).model_fields.items():
        value = getattr(table, name)
        if isinstance(value, SceneModel):
            inner.append((name, value))
        elif name not in _UNSHOWN and not is_table(bare(about.annotation)):
            if made := _control(scene, f"{path}.{name}", about, table, within):
                yield made
    if isinstance(table, Strips) and table.pitch_mm is not None:
        yield _gap(scene, f"{path}.{GAP}", table.pitch_mm)
    for name, value in inner:
        yield from _controls(scene, value, f"{path}.{name}", f"{name.replace('_', ' ')}: ")


def _control(
    scene: Scene, path: str, about: FieldInfo, table: SceneModel, within: str
) -> Table | None:
    """Return the control of a key; None for what is no number, choice or list of them."""
    name = path.rpartition(".")[2]
    key, value = key_of(name, about), getattr(table, name)
    kind, choices = _kind_of(bare(about.annotation))
    if name == "kind" and value not in SINGLE:
        choices = KINDS
    if not kind or len(choices) == 1:
        return None
    control = key._asdict() | {
        "path": path,
        "label": within + _label(name, key.unit),
        "kind": kind,
        "value": write_value(value) if isinstance(value, tuple) else value,
        "allowed": "" if choices else key.allowed,
        "default": {NEEDED: "", LEFT_OUT: "–"}.get(key.default, key.default.strip('"')),
        "is_usual": value is not None and name in _usual(path, table),
        "choices": ("", *choices) if choices and key.default == LEFT_OUT else choices,
    }
    if kind in ("number", "whole") and value is not None:
        control |= _slider(*_reach(scene, path, float(value), bounds_of(about)), kind == "whole")
    return control


def _gap(scene: Scene, path: str, pitch_mm: float) -> Table:
    """Return the control of the gap between strips, which follows from pitch and width."""
    key = Key(GAP, "mm", f"above 0, below {pitch_mm:g}", "", "the width of each gap in millimetres")
    told = {"path": path, "label": "strips: gap", "kind": "number", "value": number_at(scene, path)}
    return key._asdict() | told | {"is_usual": True, "choices": ()} | _slider(0.0, pitch_mm)


def _slider(low: float, high: float, is_whole: bool = False) -> dict[str, float]:
    return {"low": low, "high": high, "step": 1.0 if is_whole else _nice((high - low) / STEPS)}


def _kind_of(kind: Any) -> tuple[str, tuple[str, ...]]:
    if is_number(kind):
        return "whole" if is_whole_number(kind) else "number", ()
    if get_origin(kind) is Literal:
        return "choice", get_args(kind)
    if kind is bool:
        return "flag", ()
    return ("list" if get_origin(kind) is tuple else ""), ()


def _label(name: str, unit: str) -> str:
    """Return a key in words: its name without the unit, which stands behind the box."""
    has_ending = unit and "_per_" not in name
    return (name.rpartition("_")[0] if has_ending else name).replace("_", " ")


def _usual(path: str, table: SceneModel) -> tuple[str, ...]:
    kind = getattr(table, "kind", "")
    return USUAL_KINDS.get(kind) or USUAL.get(path.partition(".")[0], ())


def _reach(
    scene: Scene, path: str, value: float, bounds: tuple[float, float]
) -> tuple[float, float]:
    """Return the ends of a slider: those of the key where they are near, else what suits it."""
    low, high = bounds
    name = path.rpartition(".")[2]
    if name == "z_mm" and path.startswith("train."):
        return _between_neighbours(scene, value)
    if name == "offset_mm" and ".strips." in path:
        half = 0.5 * number_at(scene, path.replace("offset_mm", "pitch_mm"))
        return min(-half, value), max(half, value)
    if name.endswith("_deg"):
        return max(low, min(-WIDEST_ANGLE, value)), min(high, max(WIDEST_ANGLE, value))
    if high - low <= 10.0:
        return low, high
    span = _nice(2.0 * abs(value) or 10.0)
    return max(low, 0.0 if value >= 0.0 else -span), min(high, span if value >= 0.0 else 0.0)


def _between_neighbours(scene: Scene, z_mm: float) -> tuple[float, float]:
    """Return the heights between the part below and the part above, or half as far again."""
    ends = [part.end_mm for part in scene.train.values() if part.z_mm < z_mm]
    starts = [part.z_mm for part in scene.train.values() if part.z_mm > z_mm]
    faces = [group.z_mm for group in scene.emitters.values()]
    low = max([*ends, *faces, 0.0])
    return math.floor(low), math.ceil(min(starts, default=1.5 * z_mm))


def _nice(number: float) -> float:
    """Return the next of 1, 2, 5, 10 ... from a number on."""
    power = 10.0 ** math.floor(math.log10(number)) if number > 0.0 else 1.0
    return next(float(f"{m * power:.3g}") for m in (1, 2, 5, 10) if m * power >= 0.999 * number)


def value_typed(text: Any, kind: str, path: str) -> Any:
    """Return a value as a person typed it, 12,5 as well as 12.5; False, to leave out, for nothing.

    A comma marks decimals, as in German; where there are points too, the last sign does. Raises
    SceneError for what is no value of this kind.
    """
    if not isinstance(text, str):
        return text
    text = text.strip().replace("\N{MINUS SIGN}", "-").replace(" ", "")
    if not text or kind == "choice":
        return text or False
    try:
        if kind == "list":
            return tomllib.loads(f"value = {text if text[0] == '[' else f'[{text}]'}")["value"]
        thousands = "." if text.rfind(",") > text.rfind(".") else ","
        plain = text.replace(thousands, "") if "," in text and "." in text else text
        number = float(plain.replace(",", "."))
    except (ValueError, RecursionError):
        problem = "is not a list such as [450, 550]" if kind == "list" else "is not a number"
        raise SceneError([Mistake(path, problem, text)], "the page") from None
    # Of a whole number only whole ones are one; the scene tells which.
    return int(number) if kind == "whole" and number.is_integer() else number
