"""Answers: what is traced and worked out for a design, beside the pinned one, roughest first."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from functools import cached_property, partial
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from photonsim.engine import OpenRun, sample_paths
from photonsim.engine.pilot import pilot
from photonsim.live.light.shown import answer_of
from photonsim.live.light.side import paths_of
from photonsim.live.light.tracing import Job, Stop, SupersededError
from photonsim.results import Guide, Result
from photonsim.scene import Scene
from photonsim.summary.verdict import verdict_of
from photonsim.summary.verdict_text import verdict_words

SEED = 1
# Answers at these counts. The fifth is that of `photonsim trace` without any option.
COUNTS = tuple(1 << power for power in (17, 19, 21, 23, 25, 27))
VERDICT_PHOTONS = 1 << 20
# Whoever can't see the page hears its figures at this count, and at no other.
SETTLED = COUNTS[2]
PATHS = 400


def go_on(run: OpenRun, photons: int, stop: Stop) -> None:
    """Trace a run up to a count. Raises SupersededError where it was stopped before."""
    if not run.go_on(photons, stop):
        raise SupersededError


class Pinned:
    """The pinned design: its guide, which all light of the page has, its run and its results.

    Results are kept without maps: a difference needs batches alone.
    """

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self._run: OpenRun | None = None
        self._results: dict[int, Result] = {}

    @cached_property
    def guide(self) -> Guide | None:
        """What guides the pinned design and all beside it, so that they share their luck."""
        return pilot(self.scene, SEED)

    def run_of(self, scene: Scene) -> OpenRun:
        """Return the run of a design beside the pinned one; all light is traced by such runs."""
        return OpenRun.of(scene, SEED, guide=self.guide)

    def result_at(self, photons: int, stop: Stop) -> Result:
        """Return the result at a count, traced as far if need be. Raises SupersededError."""
        if photons not in self._results:
            self._run = self._run or self.run_of(self.scene)
            go_on(self._run, photons, stop)
            self._results[photons] = self._run.result(with_maps=False)
        return self._results[photons]


class Answers:
    """What there is to do for one design, in jobs that go on where they were stopped."""

    def __init__(self, scene: Scene, pinned: Pinned, picture: Path | None) -> None:
        self._scene, self._pinned, self._picture = scene, pinned, picture
        self._run: OpenRun | None = None
        self._is_other = scene is not pinned.scene and not scene.is_same_lamp(pinned.scene)
        self.result: Result | None = None

    def jobs(self) -> Sequence[Job]:
        """Return the jobs, in the order that somebody who waits wants them in."""
        first, second, third, *finer = (partial(self._answer, count) for count in COUNTS)
        return (first, self._paths, second, self._verdict, third, self._seen, *finer)

    def _answer(self, photons: int, stop: Stop) -> dict[str, Any]:
        self._run = self._run or self._pinned.run_of(self._scene)
        go_on(self._run, photons, stop)
        pinned = self._pinned.result_at(photons, stop) if self._is_other else None
        self.result = self._run.result()
        return {"answer": answer_of(self.result, pinned) | {"is_settled": photons == SETTLED}}

    def _paths(self, stop: Stop) -> dict[str, Any]:
        return {"paths": paths_of(sample_paths(self._scene, PATHS, SEED))}

    def _verdict(self, stop: Stop) -> dict[str, Any]:
        def traced(scene: Scene) -> Result:
            run = self._pinned.run_of(scene)
            go_on(run, VERDICT_PHOTONS, stop)
            return run.result()

        words = verdict_words(verdict_of(self._scene, traced))
        return {"verdict": {"words": words, "photons": VERDICT_PHOTONS}}

    def _seen(self, stop: Stop) -> dict[str, Any]:
        """Show the picture as the audience sees it; white is the brightest of its places."""
        if self.result is None or not self.result.run.landing:
            return {"picture": {"png": "", "words": "The scene has no screen."}}
        # Imported here: they take a second, which a first answer should not wait for.
        from photonsim.figures.screen.appearance import seen, to_srgb
        from photonsim.figures.screen.chart import chart_picture
        from photonsim.figures.screen.preview import picture_or_chart

        panel = self.result.scene.panel
        own = picture_or_chart(self._picture)
        light = seen(self.result, chart_picture(panel.rows, panel.columns) if own is None else own)
        # One grain of noise must not set the exposure.
        white = float(np.percentile(light, 99.5)) or 1.0
        pixels = (to_srgb(light / white) * 255.0).round().astype(np.uint8)
        file = BytesIO()
        Image.fromarray(pixels).save(file, "png")
        words = f"The white of this page stands for {white:.2g} cd/m²."
        return {"picture": {"png": b64encode(file.getvalue()).decode(), "words": words}}
