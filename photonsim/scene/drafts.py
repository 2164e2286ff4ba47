"""Drafts: what can be built of plain tables that hold mistakes, so that all of them are told."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import TypeAdapter, ValidationError

from photonsim.scene.cross_checks import Draft, crowded
from photonsim.scene.emitters import Emitter
from photonsim.scene.housing import Housing
from photonsim.scene.mistakes import SceneError
from photonsim.scene.train import TrainPart

Table = TypeVar("Table")

_HOUSING: TypeAdapter[Housing] = TypeAdapter(Housing)
_EMITTER: TypeAdapter[Emitter] = TypeAdapter(Emitter)
_PART: TypeAdapter[TrainPart] = TypeAdapter(TrainPart)


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
        housing=_built(_HOUSING, data.get("housing")),
        emitters=_all_built(_EMITTER, emitters),
        train=_all_built(_PART, train),
        emitter_names=tuple(emitters) if isinstance(emitters, dict) else None,
        kinds=kinds,
    )


def _kind(part: object) -> str | None:
    kind = part.get("kind") if isinstance(part, dict) else getattr(part, "kind", None)
    return kind if isinstance(kind, str) else None


def _all_built(adapter: TypeAdapter[Table], section: object) -> dict[str, Table]:
    if not isinstance(section, dict):
        return {}
    tables = {name: _built(adapter, value) for name, value in section.items()}
    return {name: table for name, table in tables.items() if table is not None}


def _built(adapter: TypeAdapter[Table], value: object) -> Table | None:
    try:
        return adapter.validate_python(value)
    except ValidationError:
        return None
