"""The page's file in the folder: what was kept, and every page's steps, found again at a start."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from photonsim.results import FIGURES, Estimate, Result, ResultError
from photonsim.results.files.writing import errors_of_writing, replace_whole, set_aside

MOST_BYTES = 50_000_000
MOST_KEPT, MOST_TABS = 200, 12


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class Kept(_Table):
    """A design that was kept: its name, its scene as TOML, and its figures as (value, error)."""

    name: str
    text: str
    photons: int
    seed: int
    figures: dict[str, tuple[float | None, float | None]]

    def estimate(self, name: str) -> Estimate:
        """Return a figure with its error; no number where none was noted."""
        pair = self.figures.get(name) or (None, None)
        return Estimate(*(math.nan if number is None else number for number in pair))


class KeptStep(_Table):
    """A step of a page: how it came about, and the scene as TOML."""

    words: str
    text: str


class KeptTab(_Table):
    """A page's steps, which of them is shown, and the pinned design."""

    steps: list[KeptStep] = Field(min_length=1)
    place: int
    pinned: KeptStep


class Memory(_Table):
    """All that the file holds."""

    format: Literal["photonsim live page 1"] = "photonsim live page 1"
    kept: list[Kept] = []
    tabs: dict[str, KeptTab] = {}


def noted(name: str, result: Result) -> Kept:
    """Return a design to keep, of a result of it."""
    found = {figure: result.estimate(figure) for figure in FIGURES}
    figures = {figure: (_finite(one.value), _finite(one.error)) for figure, one in found.items()}
    scene = result.scene.text
    return Kept(name=name, text=scene, photons=result.photons, seed=result.seed, figures=figures)


def _finite(number: float) -> float | None:
    """Return a number as JSON can hold it."""
    return number if math.isfinite(number) else None


def remembered(path: Path) -> tuple[Memory, str]:
    """Return what a file holds, and in words what was wrong with it.

    A damaged one is set aside, never written over. Raises ResultError where that can't be done.
    """
    if not path.exists():
        return Memory(), ""
    with errors_of_writing(path):
        if not path.is_file() or path.stat().st_size > MOST_BYTES:
            raise ResultError(f"{path}: is no file of the live page; move it away")
        try:
            return Memory.model_validate_json(path.read_bytes()), ""
        except ValidationError:
            where = set_aside(path)
    return Memory(), f"{path.name} could not be read; it is kept as {where}"


def remember(path: Path, memory: Memory) -> None:
    """Write the file whole. Raises ResultError."""
    text = json.dumps(memory.model_dump(), ensure_ascii=False, indent=1)
    with errors_of_writing(path):
        replace_whole(path, text.encode())
