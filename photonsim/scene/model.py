"""The base of everything in a scene: frozen, strict, and able to tell its own contradictions."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import Any, ClassVar, Self

from pydantic import BaseModel, ConfigDict, ValidationError, model_validator

from photonsim.scene.mistakes import Mistake, SceneError
from photonsim.scene.wording import mistakes_of

# What belongs to the library that reads scenes, or to the rooms that judge them.
_PLUMBING = {*dir(BaseModel), "model_config", "unseen", "missing", "contradictions"}


class SceneModel(BaseModel):
    """A table of a scene file. Strict: true is no number, "3" is no number, unknown keys fail."""

    # Keys that change nothing of what is counted, nor of any figure of merit: see scene.changes.
    unseen: ClassVar[frozenset[str]] = frozenset()

    # Built on first use: what reads a scene reads its tables too, and few are ever read alone.
    model_config = ConfigDict(
        strict=True, frozen=True, extra="forbid", allow_inf_nan=False, defer_build=True
    )

    def __init__(self, **values: Any) -> None:
        """Make a table of plain values. Raises SceneError with every mistake found."""
        try:
            super().__init__(**values)
        except ValidationError as error:
            name = type(self).__name__
            raise SceneError(mistakes_of(error, type(self)), name) from None

    # Tables within a table are read without a call of this, so that their mistakes keep their path.
    __init__.__pydantic_base_init__ = True  # type: ignore[attr-defined]

    def __setattr__(self, name: str, value: Any) -> None:
        """Refuse to change a key. Raises SceneError."""
        if name.startswith("_"):
            super().__setattr__(name, value)
            return
        advice = 'make another, as with scene.with_numbers({"train.film.z_mm": 16})'
        problem = "what is made can't be changed"
        raise SceneError([Mistake(name, problem, value, advice)], type(self).__name__)

    def __repr_args__(self) -> Iterable[tuple[str, Any]]:
        """Give what was set, in the order of the keys; defaults go without saying."""
        set_here = self.model_fields_set
        return [(key, getattr(self, key)) for key in type(self).model_fields if key in set_here]

    def __dir__(self) -> Iterable[str]:
        """List the keys, and what can be asked."""
        return [name for name in super().__dir__() if name[0] != "_" and name not in _PLUMBING]

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

    def unpaired(self, places: str, values: str, place: str) -> Iterable[Mistake]:
        """The mistakes of a table whose places don't rise, or that has more of them than values."""
        at, held = getattr(self, places), getattr(self, values)
        if any(after <= before for before, after in pairwise(at)):
            yield Mistake(places, f"must rise from each {place} to the next", at)
        if len(held) != len(at):
            yield Mistake(values, f"must have one value for each of the {len(at)} {place}s", held)

    @model_validator(mode="after")
    def _refuse_contradictions(self) -> Self:
        if found := list(self.contradictions()):
            raise SceneError(found)
        return self
