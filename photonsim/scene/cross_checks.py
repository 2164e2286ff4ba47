"""What must hold between the tables of a scene, checked on whatever tables could be built."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from photonsim.scene.emitters import Emitter
from photonsim.scene.housing import Housing
from photonsim.scene.mistakes import Mistake
from photonsim.scene.train import TrainPart


@dataclass(frozen=True)
class Draft:
    """A scene as far as it could be built.

    `emitters` and `train` hold the tables without mistakes of their own; `emitter_names` and
    `kinds` tell of every table that was written, sound or not.
    """

    housing: Housing | None
    emitters: Mapping[str, Emitter]
    train: Mapping[str, TrainPart]
    emitter_names: tuple[str, ...]
    kinds: Mapping[str, object]


def cross_check(draft: Draft) -> list[Mistake]:
    """Every mistake between the tables of a draft."""
    return []
