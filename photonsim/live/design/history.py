"""What was done to a design, step by step, so that every step can be undone and done again."""

from __future__ import annotations

from typing import NamedTuple

from photonsim.scene import Scene, changes, shortly

MOST_STEPS = 200


class Step(NamedTuple):
    """A design, and in words how it came out of the one before."""

    scene: Scene
    words: str


class History:
    """The designs of a page from its first to its last, and the one that is shown now."""

    def __init__(self, steps: list[Step], place: int | None = None) -> None:
        self.steps = steps
        self.place = len(steps) - 1 if place is None else min(max(place, 0), len(steps) - 1)
        self._mark = ""

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
        """What would be done again, in words."""
        return self.steps[self.place + 1].words if self.place + 1 < len(self.steps) else ""

    def put(self, scene: Scene, words: str = "", mark: str = "") -> None:
        """Go on to another design. Changes of one mark, such as one drag, are one step."""
        goes_on = bool(mark) and mark == self._mark and self.place > 0
        before = self.steps[self.place - 1 if goes_on else self.place].scene
        del self.steps[self.place + (0 if goes_on else 1) :]
        told = words or shortly(changes(before, scene, of_light=False)) or "no change"
        self.steps.append(Step(scene, told))
        del self.steps[: max(0, len(self.steps) - MOST_STEPS)]
        self.place, self._mark = len(self.steps) - 1, mark

    def go(self, by: int) -> None:
        """Undo (-1) or do again (+1), as far as there is something."""
        self.place = min(max(self.place + by, 0), len(self.steps) - 1)
        self._mark = ""
