"""Scenes from files, text and plain values."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pydantic import ValidationError

from photonsim.scene.mistakes import Mistake, SceneError
from photonsim.scene.scene import Scene
from photonsim.scene.toml import read_toml


def load_scene(path: str | Path) -> Scene:
    """Read a scene file. Raises SceneError if it can't be read or has mistakes."""
    return parse_scene(Path(path).read_text("utf-8-sig"), str(path))


def parse_scene(text: str, where: str = "scene") -> Scene:
    """Read a scene from TOML text. Raises SceneError with every mistake found."""
    return scene_from_dict(read_toml(text, where), where).with_text(text)


def scene_from_dict(data: dict[str, Any], where: str = "scene") -> Scene:
    """Build a scene from plain values. Raises SceneError with every mistake found."""
    try:
        return Scene.model_validate(data)
    except ValidationError as error:
        raise SceneError([Mistake("", str(error))], where) from None
