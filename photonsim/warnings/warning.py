"""A warning: something that a scene may well mean, but seldom does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from photonsim.scene.mistakes import write_value
from photonsim.words.text import number


@dataclass(frozen=True)
class SceneWarning:
    """A value that looks wrong: where it stands, why it looks wrong, and what is usual."""

    path: str
    value: Any
    why: str
    usual: str

    def __str__(self) -> str:
        shown = number(self.value, 4) if isinstance(self.value, float) else write_value(self.value)
        return f"{self.path} = {shown}: {self.why}; {self.usual}"
