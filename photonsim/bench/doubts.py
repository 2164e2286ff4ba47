"""Doubts about a scene: values that are no mistakes but look wrong."""

from __future__ import annotations

from photonsim.bench.doubt import Doubt
from photonsim.bench.edge_doubts import edge_doubts
from photonsim.bench.facts import Facts, facts_of
from photonsim.bench.focus_doubts import focus_doubts
from photonsim.bench.imaging_doubts import imaging_doubts
from photonsim.bench.lamp_doubts import lamp_doubts
from photonsim.scene import Scene

__all__ = ["Doubt", "doubts_about"]


def doubts_about(scene: Scene, facts: Facts | None = None) -> list[Doubt]:
    """Every doubt about a scene, its picture first; `facts` spares working them out again."""
    facts = facts or facts_of(scene)
    return [
        *focus_doubts(scene),
        *edge_doubts(scene),
        *lamp_doubts(scene, facts),
        *imaging_doubts(scene, facts),
    ]
