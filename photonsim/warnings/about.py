"""Warnings about a scene: values that are no mistakes but look wrong."""

from __future__ import annotations

from photonsim.optics.facts import Facts, facts_of
from photonsim.scene import Scene
from photonsim.warnings.of_edges import edge_warnings
from photonsim.warnings.of_focus import focus_warnings
from photonsim.warnings.of_imaging import imaging_warnings
from photonsim.warnings.of_lamp import lamp_warnings
from photonsim.warnings.of_polarisation import polarisation_warnings
from photonsim.warnings.warning import SceneWarning


def warnings_about(scene: Scene, facts: Facts | None = None) -> list[SceneWarning]:
    """Every warning about a scene, its picture first; `facts` spares working them out again."""
    facts = facts or facts_of(scene)
    return [
        *focus_warnings(scene),
        *edge_warnings(scene),
        *lamp_warnings(scene, facts),
        *imaging_warnings(scene, facts),
        *polarisation_warnings(scene),
    ]
