"""The base of everything in a scene: frozen, strict, and able to tell its own contradictions."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, ClassVar, Self

from pydantic import BaseModel, ConfigDict, model_validator

from photonsim.scene.mistakes import Mistake, SceneError


class SceneModel(BaseModel):
    """A table of a scene file. Strict: true is no number, "3" is no number, unknown keys fail."""

    # Keys that change nothing of what is counted, nor of any figure of merit: see scene.changes.
    unseen: ClassVar[frozenset[str]] = frozenset()

    model_config = ConfigDict(strict=True, frozen=True, extra="forbid", allow_inf_nan=False)

    def contradictions(self) -> Iterable[Mistake]:
        """Mistakes between keys of this table, with paths relative to it."""
        return ()

    @classmethod
    def missing(cls, key: str, otherwise: str = "") -> Mistake:
        """The mistake of leaving out a key that is needed, with what it stands for."""
        words = (cls.model_fields[key].description, otherwise)
        return Mistake(key, "missing", advice="; ".join(filter(None, words)))

    def given(self, *keys: str) -> dict[str, Any]:
        """Those of some keys that have a value, with it."""
        return {key: value for key in keys if (value := getattr(self, key)) is not None}

    def lacking(self, *keys: str) -> list[Mistake]:
        """The mistakes of leaving out some keys that are needed."""
        return [self.missing(key) for key in keys if getattr(self, key) is None]

    def beside(self, other: str, advice: str, *keys: str) -> list[Mistake]:
        """The mistakes of giving some keys where `other` says it all."""
        return [
            Mistake(key, f"stands beside {other}", value, advice)
            for key, value in self.given(*keys).items()
        ]

    @model_validator(mode="after")
    def _refuse_contradictions(self) -> Self:
        if found := list(self.contradictions()):
            raise SceneError(found)
        return self
