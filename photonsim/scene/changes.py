"""What differs between two scenes, as far as a photon can tell: number by number, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from photonsim.scene.mistakes import join_path, write_value
from photonsim.scene.model import SceneModel

MOST_TOLD = 3
_NOTHING = object()


def changes(before: SceneModel, now: SceneModel, of_light: bool = True) -> list[str]:
    """Return what differs to a photon, as 'train.film.z_mm 14 → 13'; nothing for the same lamp.

    Left out is what each table names as `unseen`, unless not only changes `of_light` are asked for.
    """
    return list(_changes(before, now, (), of_light))


def shortly(found: Sequence[str]) -> str:
    """Return the first few changes in a line, and how many more there are."""
    more = len(found) - MOST_TOLD
    return ", ".join(found[:MOST_TOLD]) + (f" and {more} more" if more > 0 else "")


def _changes(before: Any, now: Any, keys: tuple[str | int, ...], of_light: bool) -> Iterator[str]:
    if isinstance(before, SceneModel) and isinstance(now, SceneModel):
        kinds = [getattr(table, "kind", "") for table in (before, now)]
        # Tables of two kinds have other keys, and what those they share say is of no interest.
        seen = type(before).model_fields if kinds[0] == kinds[1] else ("kind",)
        for key in seen:
            if not (of_light and key in before.unseen):
                yield from _changes(getattr(before, key), getattr(now, key), (*keys, key), of_light)
    elif isinstance(before, dict) and isinstance(now, dict):
        for key in {**before, **now}:
            yield from _changes(
                before.get(key, _NOTHING), now.get(key, _NOTHING), (*keys, key), of_light
            )
    elif isinstance(before, tuple) and isinstance(now, tuple) and len(before) == len(now):
        for place, pair in enumerate(zip(before, now, strict=True)):
            yield from _changes(*pair, (*keys, place), of_light)
    elif before != now:
        yield f"{join_path(*keys)} {_told(before, now)}"


def _told(before: Any, now: Any) -> str:
    if _is_absent(before):
        return f"is new: {_value(now)}" if _is_short(now) else "is new"
    if _is_absent(now):
        return "is not there now"
    if not (_is_short(before) and _is_short(now)):
        return "has another form"
    return f"{_value(before)} → {_value(now)}"


def _is_absent(value: Any) -> bool:
    return value is None or value is _NOTHING


def _is_short(value: Any) -> bool:
    return isinstance(value, str | bool | int | float)


def _value(value: Any) -> str:
    """Return a value as it stands in a scene; '14' of 14.0, all digits of any other number."""
    if isinstance(value, float) and value == int(value) and abs(value) < 1e15:
        return str(int(value))
    return write_value(value)
