import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from photonsim.scene import Scene, scene_from_dict

HERE = Path(__file__).parent


@pytest.fixture
def lamp() -> Callable[..., Scene]:
    """Make a scene of this folder, changed: `lamp({"train.film.ridges": "to_lamp"})`.

    A value of None takes the key or table out; a table is put in before the panel or the stop if
    its name is followed by one of these: `"train.mist<panel": {...}`.
    """

    def make(changes: dict[str, Any] | None = None, name: str = "split_film") -> Scene:
        data = tomllib.loads((HERE / f"{name}.toml").read_text(encoding="utf-8"))
        for path, value in (changes or {}).items():
            *tables, key = path.split(".")
            table = data
            for step in tables:
                table = table.setdefault(step, {})
            key, _, follower = key.partition("<")
            if value is None:
                del table[key]
            elif follower:
                items = list(table.items())
                place = [name for name, _ in items].index(follower)
                table.clear()
                table.update([*items[:place], (key, value), *items[place:]])
            else:
                table[key] = value
        return scene_from_dict(data, "test")

    return make
