"""Drafts: what can be built of plain tables that hold mistakes, so that all of them are told."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from photonsim.scene.cross_checks import Draft, crowded
from photonsim.scene.emitters import Emitter
from photonsim.scene.housing import Housing
from photonsim.scene.mistakes import SceneError
from photonsim.scene.train import TrainPart

Table = TypeVar("Table")


def refuse_crowds(data: dict[str, Any], where: str) -> None:
    """Raise SceneError for thousands of groups or parts before each of them is looked at."""
    sections = (data.get(key) if isinstance(data, dict) else None for key in ("emitters", "train"))
    groups, parts = (section if isinstance(section, dict) else () for section in sections)
    if found := list(crowded(groups, parts)):
        raise SceneError(found, where)


def draft_of(data: dict[str, Any]) -> Draft:
    """Return what can be built of a scene's tables."""
    emitters, train = data.get("emitters"), data.get("train")
    kinds = None
    if isinstance(train, dict):
        kinds = {name: _kind(part) for name, part in train.items()}
    return Draft(
        housing=_built(Housing.model_validate, data.get("housing")),
        emitters=_all_built(Emitter.model_validate, emitters),
        train=_all_built(_part_adapter().validate_python, train),
        emitter_names=tuple(emitters) if isinstance(emitters, dict) else None,
        kinds=kinds,
    )


@cache
def _part_adapter() -> TypeAdapter[TrainPart]:
    """Return what builds parts of any kind: made when a scene has mistakes, 0.002 s."""
    return TypeAdapter(TrainPart)


def _kind(part: object) -> str | None:
    kind = part.get("kind") if isinstance(part, dict) else getattr(part, "kind", None)
    return kind if isinstance(kind, str) else None


def _all_built(build: Callable[[Any], Table], section: object) -> dict[str, Table]:
    if not isinstance(section, dict):
        return {}
    tables = {name: _built(build, value) for name, value in section.items()}
    return {name: table for name, table in tables.items() if table is not None}


def _built(build: Callable[[Any], Table], value: object) -> Table | None:
    try:
        return build(value)
    except ValidationError:
        return None
