"""A scene made ready for tracing: worked out once for a run and handed to all who take part."""

from __future__ import annotations

import hashlib
from functools import cached_property

import numpy as np

from photonsim.kernel import codes
from photonsim.kernel.allotment import Guide
from photonsim.kernel.tallies import ROW_FATES, SPOT_BINS, Maps, map_shapes
from photonsim.program.build import build_program
from photonsim.program.fates import Fate, fates_of
from photonsim.program.layers import layers_of
from photonsim.program.program import Program
from photonsim.program.traits import traits_of
from photonsim.scene import Scene


class Compiled:
    """A scene, its program, the fates of its photons, and the shapes of what is counted.

    With a guide its emission is guided.
    """

    def __init__(self, scene: Scene, guide: Guide | None = None) -> None:
        layers = layers_of(scene)
        self.scene, self.guide = scene, guide
        program = build_program(scene, layers)
        if guide is not None:
            program = program._replace(guide=guide.slots)
        self.program: Program = program._replace(traits=traits_of(program))
        self.fates: list[Fate] = fates_of(layers)

    @property
    def fate_codes(self) -> list[int]:
        """The kernel's codes of the fates."""
        return [fate.code for fate in self.fates]

    @property
    def fate_names(self) -> tuple[tuple[str, str], ...]:
        """The names and groups of the fates."""
        return tuple((fate.name, fate.group) for fate in self.fates)

    @property
    def row_width(self) -> int:
        """The columns of a batch row."""
        return ROW_FATES + codes.layer_fate(len(self.program.layer_kind), 0)

    @property
    def map_shapes(self) -> Maps:
        """The shapes of the maps."""
        panel = self.scene.panel
        return map_shapes((panel.rows, panel.columns), bool(self.program.screen[codes.SCREEN_ON]))

    @cached_property
    def digest(self) -> str:
        """What scenes have in common whose photons are the same, to the bit: all that is traced.

        The arrays of the program, where light should land on the screen among them, the names of
        the fates and the panel's pixels. What it leaves out, as lumens and the transmittance of
        ideal lenses behind the panel, figures take from the scene. A guide has its own digest.
        """
        digest = hashlib.sha256(repr((self.fate_names, self.map_shapes)).encode())
        lamp = self.program._replace(
            guide=self.program.guide[:0], traits=self.program.traits & ~codes.GUIDED
        )
        for name, part in zip(lamp._fields, lamp, strict=True):
            array = np.asarray(part)
            digest.update(f"{name} {array.dtype.str} {array.shape} ".encode())
            digest.update(np.ascontiguousarray(array).tobytes())
        return digest.hexdigest()

    @cached_property
    def landing(self) -> dict[str, list[float]]:
        """What the screen's tallies count from; see results.picture.screen."""
        screen = self.program.screen
        if not screen[codes.SCREEN_ON]:
            return {}
        place, slope = codes.SCREEN_PLACE, codes.SCREEN_SLOPE
        return {
            "place": screen[place : place + codes.SCREEN_TERMS].tolist(),
            "slope": screen[slope : slope + codes.SCREEN_TERMS].tolist(),
            "half_mm": (0.5 * SPOT_BINS / self.program.spot_per_mm).tolist(),
        }
