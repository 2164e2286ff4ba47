"""Traced: a scene, the run that traced it, and what was counted: what a result file holds."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from pydantic import ConfigDict

from photonsim.arrays import Reals
from photonsim.kernel.allotment import digest_of
from photonsim.results.tallies import Tallies
from photonsim.scene import Scene


@dataclass(frozen=True)
class Run:
    """How a result came about. `seconds` by phase add up over continued runs.

    `landing` says what the tallies of the screen count from, and is empty without a screen: the
    chief ray's place and slope as polynomials (results.picture.screen), half the side of each
    cell's spot. `program` is the digest of the program that was traced (program.compiled), by which
    runs of the same photons are known; '' where nobody worked it out.
    """

    __pydantic_config__ = ConfigDict(extra="forbid", allow_inf_nan=False, defer_build=True)

    seed: int
    status: str
    stopped_by: str
    device: str
    threads: int
    seconds: dict[str, float] = field(default_factory=dict)
    program_version: str = ""
    landing: dict[str, list[float]] = field(default_factory=dict)
    program: str = ""


@dataclass(frozen=True)
class Traced:
    """What a run counted. `fate_names` lists (name, group) for the columns of batches['fates']."""

    scene: Scene
    run: Run
    fate_names: tuple[tuple[str, str], ...]
    tallies: Tallies

    @property
    def photons(self) -> int:
        """The number of histories traced."""
        return self.tallies.photons

    @property
    def emitted(self) -> int:
        """The emitted light in the unit of all counts, which the ledger sums to."""
        return self.tallies.emitted

    @property
    def guide_digest(self) -> str:
        """The digest of the guide of the emission; empty without one."""
        return digest_of(self.tallies.guide)

    @property
    def seed(self) -> int:
        """The seed of the random numbers."""
        return self.run.seed


class LightPath(NamedTuple):
    """One history: its number, the name and group of its fate, its points [n, 3] in mm."""

    number: int
    fate: str
    group: str
    points: Reals
