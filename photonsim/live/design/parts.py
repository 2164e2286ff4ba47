"""Parts, groups of emitters and tables added, taken out, swapped, made of another kind.

What there is to add, and what a new one is like until it is told otherwise, comes from the scene's
models: each shows an example of itself in its description.
"""

from __future__ import annotations

import ast
import itertools
import tomllib
from collections.abc import Iterator
from doctest import DocTestParser
from functools import cache
from typing import Any

from photonsim.scene import Emitter, Mistake, Scene, SceneError
from photonsim.scene.fields import bare, is_table
from photonsim.scene.model import SceneModel
from photonsim.scene.paths import found_at, keys_of
from photonsim.scene.train import PART_CLASSES

# A scene has one of each, no more and no less.
SINGLE = ("panel", "aperture_stop")
KINDS = tuple(kind for kind in PART_CLASSES if kind not in SINGLE)
# Rows tried for a new group of emitters between the middle of the base and its edge.
ROWS_TRIED = 8


def additions(scene: Scene) -> list[dict[str, str]]:
    """Return what can be added to a scene, but for tables within its parts: path, kind, words."""
    parts = [{"path": "train", "kind": kind, "words": PART_CLASSES[kind].words} for kind in KINDS]
    absent = [name for name, is_there in optional_tables(scene) if not is_there]
    tables = [{"path": name, "kind": "", "words": name} for name in absent]
    return [*parts, {"path": "emitters", "kind": "", "words": "group of emitters"}, *tables]


def optional_tables(table: SceneModel) -> Iterator[tuple[str, bool]]:
    """Yield the tables within a table that may be left out, and whether each is there."""
    for name, about in type(table).model_fields.items():
        model, is_there = bare(about.annotation), getattr(table, name) is not None
        if is_table(model) and about.default is None and (is_there or example_of(model)):
            yield name, is_there


@cache
def example_of(model: type[SceneModel]) -> dict[str, Any]:
    """Return the keys of the example in a model's description; none where it makes none."""
    for example in DocTestParser().get_examples(model.__doc__ or ""):
        for node in ast.walk(ast.parse(example.source)):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == model.__name__:
                return {str(one.arg): ast.literal_eval(one.value) for one in node.keywords}
    return {}


def added(scene: Scene, path: str, kind: str = "") -> Scene:
    """Return a scene with one more: a part for "train", a group for "emitters", else the table.

    It stands at the first place where the scene has room. Raises SceneError where there is none.
    """
    model = {"train": PART_CLASSES.get(kind), "emitters": Emitter}.get(path) or _absent(scene, path)
    values = example_of(model)
    places: Iterator[dict[str, Any]] = iter([{}])
    if path == "train":
        path = f"train.{_new_name(scene, kind.rpartition('_')[2])}"
        places = ({"kind": kind, "z_mm": z} for z in _heights_mm(scene, values["z_mm"]))
    elif path == "emitters":
        path, places = f"emitters.{_new_name(scene, 'leds')}", _rows(scene)
    refused = []
    for place in places:
        try:
            found = (values | place).items()
            return scene.with_numbers({f"{path}.{key}": value for key, value in found})
        except SceneError as error:
            refused.append(error)
    raise refused[0]


def _absent(scene: Scene, path: str) -> type[SceneModel]:
    found = found_at(scene, keys_of(path))
    if found is None or found.value is not None or not is_table(found.kind):
        raise SceneError([Mistake(path, "is nothing that can be added")], "the page")
    model: type[SceneModel] = found.kind
    return model


def _new_name(scene: Scene, stem: str) -> str:
    names = itertools.chain([stem], (f"{stem}_{number}" for number in itertools.count(2)))
    return next(name for name in names if name not in scene.train and name not in scene.emitters)


def _heights_mm(scene: Scene, usual_mm: float) -> Iterator[float]:
    """Yield the usual height of a part, then the middles of all free spaces, the nearest first."""
    yield usual_mm
    base = max(group.z_mm for group in scene.emitters.values())
    ends = [base, *(part.end_mm for part in scene.train.values())]
    starts = [part.z_mm for part in scene.train.values()]
    middles = [0.5 * (end + start) for end, start in zip(ends, starts, strict=False)]
    for middle in sorted(middles, key=lambda z: abs(z - usual_mm)):
        yield float(f"{middle:.3g}")


def _rows(scene: Scene) -> Iterator[dict[str, Any]]:
    """Yield places for a group of emitters beside the others, from the middle outwards."""
    z_mm = max(group.z_mm for group in scene.emitters.values())
    for row in range(ROWS_TRIED):
        y_mm = 0.5 * row / ROWS_TRIED * scene.housing.height_mm
        yield from ({"y_mm": side, "z_mm": z_mm} for side in (y_mm, -y_mm))


def replaced(scene: Scene, name: str, kind: str) -> Scene:
    """Return a scene with a part of another kind in the place of one, its strips kept."""
    if kind not in KINDS:
        raise SceneError([Mistake(f"train.{name}.kind", "there is no such kind", kind)], "the page")
    model, old = PART_CLASSES[kind], _values(scene, name)
    tables = {key: one for key, one in old.items() if isinstance(one, dict)}
    kept = {key: one for key, one in tables.items() if key in model.model_fields}
    return _put_anew(scene, {name: example_of(model) | kept | {"kind": kind, "z_mm": old["z_mm"]}})


def swapped(scene: Scene, path: str) -> Scene:
    """Return a scene in which the part at a path and the next one have changed places."""
    name = str(keys_of(path)[-1])
    other = dict(itertools.pairwise(scene.train)).get(name)
    if other is None:
        raise SceneError([Mistake(path, "has no part behind it")], "the page")
    first, second = scene.train[name], scene.train[other]
    # Thicknesses differ: what comes to lie behind must clear what lies before.
    z_mm = max(second.z_mm, first.z_mm + second.thickness_mm)
    found = {other: _values(scene, other) | {"z_mm": first.z_mm}}
    return _put_anew(scene, found | {name: _values(scene, name) | {"z_mm": z_mm}})


def _put_anew(scene: Scene, parts: dict[str, dict[str, Any]]) -> Scene:
    """Return a scene in which parts are taken out and put in again, each where its height is.

    Only so do parts change their order or kind; comments within them go.
    """
    without = scene.with_numbers({f"train.{name}": False for name in parts})
    flat = {f"train.{name}.{key}": one for name, part in parts.items() for key, one in part.items()}
    return without.with_numbers(flat)


def _values(scene: Scene, name: str) -> dict[str, Any]:
    return dict(tomllib.loads(scene.text)["train"][name])
