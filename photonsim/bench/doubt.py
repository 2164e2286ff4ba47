"""A doubt: something that a scene may well mean, but seldom does."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from photonsim.bench.text import number
from photonsim.scene.mistakes import write_value


@dataclass(frozen=True)
class Doubt:
    """A value that looks wrong: where it stands, why it is doubted, and what is usual."""

    path: str
    value: Any
    why: str
    usual: str

    def __str__(self) -> str:
        shown = number(self.value, 4) if isinstance(self.value, float) else write_value(self.value)
        return f"{self.path} = {shown}: {self.why}; {self.usual}"
