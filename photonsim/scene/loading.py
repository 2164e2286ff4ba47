"""Scenes from files, text and plain values."""

from __future__ import annotations

import re
from os import PathLike, fspath
from pathlib import Path
from typing import Any

from photonsim.scene.drafts import refuse_crowds
from photonsim.scene.lm63_files import take_in
from photonsim.scene.mistakes import Mistake, SceneError
from photonsim.scene.model import SceneModel
from photonsim.scene.scene import Scene, scene_from_dict
from photonsim.scene.toml import read_toml

# A scene of 200 parts is some 50 kB; a larger file was surely named by accident.
MOST_BYTES = 1_000_000
HDF5_SIGNATURE = b"\x89HDF\r\n\x1a\n"


def load_scene(path: str | PathLike[str]) -> Scene:
    """Read a scene file, TOML in UTF-8, and the LM-63 files beside it that it names.

    `lamp.toml:wide` is the variant `wide` of that file. Raises SceneError if one can't be read or
    has mistakes, TypeError for what is no path.

    >>> import photonsim
    >>> photonsim.load_scene("scenes/d_split_film.toml").train["film"].z_mm
    14.0
    """
    if not isinstance(path, str | PathLike):
        raise TypeError(f"a scene file is named by its path, not by {type(path).__name__}")
    where = fspath(path)
    file, variant = file_and_variant(where)
    if variant:
        base = load_scene(file)
        try:
            return base.variant(variant)
        except SceneError as error:
            raise SceneError(error.mistakes, where) from None
    text = _decode(_read_bytes(Path(path), where), where)
    if not text.strip():
        raise _file_error(where, "the file is empty")
    data = read_toml(text, where)
    refuse_crowds(data, where)
    taken_in = take_in(data, text, Path(path).parent)
    try:
        scene = scene_from_dict(taken_in.data, where)
    except SceneError as error:
        raise SceneError(taken_in.mistakes + error.mistakes, where) from None
    if taken_in.mistakes:
        raise SceneError(taken_in.mistakes, where)
    return scene.with_text(taken_in.text)


def file_and_variant(name: str) -> tuple[Path, str]:
    """Return the file that a name means, and the variant in it, or nothing.

    A single letter before a colon is a drive of Windows.
    """
    head, colon, tail = name.rpartition(":")
    if not colon or len(head) < 2 or not re.fullmatch(r"\w+", tail) or Path(name).exists():
        return Path(name), ""
    return Path(head), tail


def parse_scene(text: str, where: str = "scene") -> Scene:
    """Read a scene from TOML text alone. Raises SceneError with every mistake found.

    >>> import photonsim
    >>> scene = photonsim.load_scene("scenes/d_split_film.toml")
    >>> photonsim.parse_scene(scene.text) == scene
    True
    """
    return scene_from_dict(read_toml(text, where), where).with_text(text)


def validated(scene: Scene) -> Scene:
    """Return the scene that one's numbers make: in memory they can be changed past all checks.

    It keeps its text where that still describes it. Raises SceneError with every mistake found.
    """
    sound = scene_from_dict(_given(scene), "the scene in memory")
    try:
        text = scene.text
        unchanged = parse_scene(text) == sound
    except SceneError:
        unchanged = False
    return sound.with_text(text) if unchanged else sound


def _given(value: Any) -> Any:
    """Return a table's values as they were given: a default may contradict what stands beside."""
    if isinstance(value, SceneModel):
        keys = [key for key in type(value).model_fields if key in (*value.model_fields_set, "kind")]
        return {key: _given(getattr(value, key)) for key in keys}
    if isinstance(value, dict):
        return {key: _given(item) for key, item in value.items()}
    return tuple(map(_given, value)) if isinstance(value, tuple) else value


def _read_bytes(path: Path, where: str) -> bytes:
    try:
        if path.is_dir():  # opening a folder fails with another error on each system
            raise _file_error(where, "this is a folder", "name the scene file in it")
        if path.exists() and not path.is_file():  # a pipe would be waited for without end
            raise _file_error(where, "this is no ordinary file")
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise _file_error(where, "there is no such file", "check its name and folder") from None
    except OSError as error:
        raise _file_error(where, f"the file can't be read: {error.strerror or error}") from None
    if content.startswith(HDF5_SIGNATURE):
        raise _file_error(where, "this is no scene but HDF5, as results are written in")
    if len(content) > MOST_BYTES:
        raise _file_error(where, "the file is larger than 1 MB", "that can't be a scene")
    return content


def _decode(content: bytes, where: str) -> str:
    try:
        return content.decode("utf-8-sig")  # some editors put a mark before the text
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise _file_error(
            where, f"line {line} is not UTF-8 text", "save the file as UTF-8 in your editor"
        ) from None


def _file_error(where: str, problem: str, advice: str = "") -> SceneError:
    return SceneError([Mistake("", problem, advice=advice)], where)
