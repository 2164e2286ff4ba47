"""What pages remember: every step of each, so that all can be undone; what was kept; their file."""

from __future__ import annotations

import math
from functools import cached_property
from pathlib import Path
from typing import Annotated, Any, Literal, Self

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, PrivateAttr, ValidationError

from photonsim.results import FIGURES, Estimate, Result, ResultError
from photonsim.results.files.writing import errors_of_writing, replace_whole, set_aside
from photonsim.scene import Scene, changes, parse_scene, shortly

MOST_BYTES = 50_000_000
MOST_KEPT, MOST_STEPS = 200, 200
# JSON has null for what is no number, and nothing else for what is infinite.
Number = Annotated[float, BeforeValidator(lambda one: math.nan if one in (None, math.inf) else one)]


class Noted(BaseModel):
    """What stands in the page's file as it is."""

    model_config = ConfigDict(extra="forbid", strict=True)


class Step(Noted):
    """A design as TOML, and in words how it came out of the one before."""

    words: str
    text: str

    @classmethod
    def to(cls, scene: Scene, words: str) -> Self:
        """Return the step to a scene."""
        step = cls(words=words, text=scene.text)
        step.scene = scene
        return step

    @cached_property
    def scene(self) -> Scene:
        """The design. Raises SceneError for one that can't be read any more."""
        return parse_scene(self.text)


class History(Noted):
    """The designs of a page from its first to its last, the one that is shown, the pinned one."""

    steps: list[Step] = Field(min_length=1)
    place: int
    pinned: Step
    _mark: str = PrivateAttr(default="")

    def model_post_init(self, context: Any) -> None:
        """Show a step that there is, whatever the file says."""
        self.go(0)

    @property
    def now(self) -> Scene:
        """The design that is shown."""
        return self.steps[self.place].scene

    @property
    def undone_next(self) -> str:
        """What undoing would undo, in words; nothing at the first step."""
        return self.steps[self.place].words if self.place else ""

    @property
    def redone_next(self) -> str:
        """What would be done again, in words; nothing at the last step."""
        return "".join(step.words for step in self.steps[self.place + 1 : self.place + 2])

    def put(self, scene: Scene, words: str = "", mark: str = "") -> None:
        """Go on to another design. Changes of one mark, such as one drag, are one step."""
        goes_on = bool(mark) and mark == self._mark and self.place > 0
        kept = self.steps[: self.place + (0 if goes_on else 1)]
        told = words or shortly(changes(kept[-1].scene, scene, of_light=False)) or "no change"
        self.steps = [*kept, Step.to(scene, told)][-MOST_STEPS:]
        self.place, self._mark = len(self.steps) - 1, mark

    def go(self, by: int) -> None:
        """Undo (-1) or do again (+1), as far as there is something."""
        self.place = min(max(self.place + by, 0), len(self.steps) - 1)
        self._mark = ""


class Kept(Noted):
    """A design that was kept: its name, its scene as TOML, and its figures as (value, error)."""

    name: str
    text: str
    photons: int
    seed: int
    figures: dict[str, tuple[Number, Number]]

    def estimate(self, name: str) -> Estimate:
        """Return a figure with its error; no number where none was noted."""
        return Estimate(*self.figures.get(name, (math.nan, math.nan)))


class Memory(Noted):
    """All that the file holds."""

    format: Literal["photonsim live page 1"] = "photonsim live page 1"
    kept: list[Kept] = Field(default_factory=list)
    tabs: dict[str, History] = Field(default_factory=dict)


def noted(name: str, result: Result) -> Kept:
    """Return a design to keep, of a result of it."""
    found = {figure: result.estimate(figure) for figure in FIGURES}
    figures = {figure: (one.value, one.error) for figure, one in found.items()}
    scene = result.scene.text
    return Kept(name=name, text=scene, photons=result.photons, seed=result.seed, figures=figures)


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
    with errors_of_writing(path):
        replace_whole(path, memory.model_dump_json(indent=1).encode())
