"""Doubts about a scene: values that are no mistakes but look wrong."""

from __future__ import annotations

from photonsim.bench.doubt import Doubt
from photonsim.bench.facts import Facts, facts_of
from photonsim.bench.imaging_doubts import imaging_doubts
from photonsim.bench.lamp_doubts import lamp_doubts
from photonsim.scene import Scene

__all__ = ["Doubt", "doubts_about"]


def doubts_about(scene: Scene, facts: Facts | None = None) -> list[Doubt]:
    """Every doubt about a scene, lamp first; `facts` spares working them out again."""
    facts = facts or facts_of(scene)
    return [*lamp_doubts(scene, facts), *imaging_doubts(scene, facts)]
