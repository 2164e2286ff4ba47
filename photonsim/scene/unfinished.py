"""Unfinished: a table with mistakes that stop nobody who does not need it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from photonsim.scene.mistakes import Mistake


@dataclass(frozen=True)
class Unfinished:
    """The values of a table as they were written, and what is wrong with them."""

    values: dict[str, Any]
    mistakes: tuple[Mistake, ...]
