"""The base of everything in a scene: frozen, strict, and able to tell its own contradictions."""

from __future__ import annotations

from typing import ClassVar, Self

from pydantic import BaseModel, ConfigDict, model_validator

from photonsim.scene.mistakes import Mistake, SceneError


class SceneModel(BaseModel):
    """A table of a scene file. Strict: true is no number, "3" is no number, unknown keys fail."""

    # Keys that change nothing of what is counted, nor of any figure of merit: see scene.changes.
    unseen: ClassVar[frozenset[str]] = frozenset()

    model_config = ConfigDict(strict=True, frozen=True, extra="forbid", allow_inf_nan=False)

    def contradictions(self) -> list[Mistake]:
        """Mistakes between keys of this table, with paths relative to it."""
        return []

    @classmethod
    def missing(cls, key: str) -> Mistake:
        """The mistake of leaving out a key that is needed, with what it stands for."""
        return Mistake(key, "missing", advice=cls.model_fields[key].description or "")

    @model_validator(mode="after")
    def _refuse_contradictions(self) -> Self:
        if found := self.contradictions():
            raise SceneError(found)
        return self
