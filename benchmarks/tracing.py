"""Timed runs of photonsim itself, through the door that a user takes."""

from __future__ import annotations

from itertools import count
from pathlib import Path

from photonsim.engine import processors, trace
from photonsim.engine.pilot import Guiding
from photonsim.results import Result
from photonsim.scene import Scene, load_scene

SCENES = Path(__file__).parents[1] / "scenes"
TRIAL = 100_000


def shipped() -> list[Path]:
    """Return the paths of the shipped scenes."""
    return sorted(SCENES.glob("*.toml"))


def shipped_scene(stem: str) -> Scene:
    """Return a shipped scene by the name of its file."""
    return load_scene(SCENES / f"{stem}.toml")


class TimedTracing:
    """Runs of a scene on so many threads, each about `seconds` long and with a seed of its own."""

    def __init__(
        self, scene: Scene, threads: int, seconds: float, guiding: Guiding = "auto"
    ) -> None:
        self.scene, self.threads, self.guiding = scene, threads, guiding
        self.seeds = count(1)
        self.runs: list[Result] = []
        # The first run compiles and fills the caches.
        for _ in range(2):
            trial = trace(scene, photons=TRIAL, threads=threads, guide=guiding)
        self.photons = max(TRIAL, int(TRIAL * seconds / trial.run.seconds["trace"]))
        self.events_per_photon = trial.events_per_photon

    def __call__(self) -> float:
        """Trace once more and return histories a second."""
        run = trace(
            self.scene,
            photons=self.photons,
            seed=next(self.seeds),
            threads=self.threads,
            guide=self.guiding,
        )
        self.runs.append(run)
        return run.photons / run.run.seconds["trace"]


def all_threads() -> int:
    """Return how many threads a run takes by default."""
    return processors()
