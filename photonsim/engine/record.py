"""The record of a run: what was counted, wherever it was traced, and how it came about."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from photonsim.engine.pilot import Asked
from photonsim.engine.rows import BatchRows, batch_shift, every_arrival, pack, unpack
from photonsim.engine.workers import Tracer
from photonsim.kernel.allotment import EXACT_HISTORIES, digest_of
from photonsim.kernel.tallies import LOST_KEPT, MAP_TALLIES, Maps
from photonsim.program import Compiled
from photonsim.results import Result, ResultError, Run, Tallies
from photonsim.results.remarks.laws import made_by, mended_since
from photonsim.scene import changes, shortly
from photonsim.version import __version__


class Record:
    """Rows by batch, maps and lost histories; whoever traces hands in what it has counted."""

    def __init__(
        self, compiled: Compiled, seed: int, device: str, threads: int, earlier: Result | None
    ) -> None:
        self.compiled, self.seed = compiled, seed
        self.device, self.threads = device, threads
        self.rows = BatchRows(compiled.row_width)
        self.seconds: dict[str, float] = {"compile": 0.0, "trace": 0.0}
        self._maps = Maps._make(
            np.zeros((0, *shape[1:]), np.int64) for shape in compiled.map_shapes
        )
        self._lost: list[int] = []
        if earlier is not None:
            self._take_up(earlier)

    @property
    def photons(self) -> int:
        """The histories traced so far."""
        return self.rows.photons

    def exact(self, photons: int) -> int:
        """Return the least count, from `photons` on, whose weights sum to its photons exactly."""
        return -(-photons // EXACT_HISTORIES) * EXACT_HISTORIES if self.compiled.guide else photons

    def keep(self, maps: Maps, lost: Sequence[int]) -> None:
        """Take over the maps and lost histories of work that is done."""
        self._maps = summed([self._maps, maps])
        self._lost += lost

    def result(
        self, status: str, stopped_by: str, workers: Sequence[Tracer] = (), with_maps: bool = True
    ) -> Result:
        """Return the result so far, with what `workers` hold; maps are empty if not asked for."""
        maps = Maps._make(counts[:0] for counts in self._maps)
        if with_maps:
            maps = summed([self._maps, *(worker.maps for worker in workers)])
            for tally, counts in zip(MAP_TALLIES, maps, strict=True):
                every_arrival(tally, counts)
        lost = sorted([*self._lost, *(number for worker in workers for number in worker.lost)])
        return Result(
            scene=self.compiled.scene,
            run=Run(
                seed=self.seed,
                status=status,
                stopped_by=stopped_by,
                device=self.device,
                threads=self.threads,
                seconds=dict(self.seconds),
                program_version=__version__,
                landing=self.compiled.landing,
                program=self.compiled.digest,
            ),
            fate_names=self.compiled.fate_names,
            tallies=Tallies(
                photons=self.photons,
                batch_photons=1 << self.rows.shift,
                batches=unpack(self.rows.rows, self.compiled.fate_codes),
                **maps._asdict(),
                lost=lost[:LOST_KEPT],
                guide=self.compiled.guide,
            ),
        )

    def _take_up(self, earlier: Result) -> None:
        if why := why_anew(earlier, self.compiled, self.seed, self.compiled.guide):
            raise ResultError(
                f"the earlier result is of other photons ({why}): it cannot be continued; save "
                "under another name, or start anew with --fresh"
            )
        tallies = earlier.tallies
        self.rows.make_room(tallies.photons)
        self.rows.rows += pack(tallies.batches, self.compiled.fate_codes, self.rows.width)
        maps = Maps._make(getattr(tallies, name).copy() for name in Maps._fields)
        for tally, counts in zip(MAP_TALLIES, maps, strict=True):
            every_arrival(tally, counts, -1)
        self.keep(maps, tallies.lost)
        self.seconds |= earlier.run.seconds
        if self.device not in earlier.run.device.split(" + "):
            self.device = f"{earlier.run.device} + {self.device}"


def why_anew(earlier: Result, compiled: Compiled, seed: int, asked: Asked) -> str:
    """Return why a result cannot be gone on from with a scene and seed; nothing where it can.

    What was traced decides, and not what the scenes say: the lumens of a lamp's only emitters and
    a sheet's thickness change no photon. Any guide will do where "auto" is asked for.
    """
    reasons = []
    found = changes(earlier.scene, compiled.scene)
    noted = earlier.run.program
    same = noted == compiled.digest if noted else not found
    if not same:
        reasons.append(shortly(found) or "another program")
    if earlier.seed != seed:
        reasons.append(f"seed {earlier.seed} → {seed}")
    if asked != "auto" and digest_of(asked) != earlier.guide_digest:
        reasons.append("guided otherwise" if earlier.guide_digest else "traced without a guide")
    # Another version may draw otherwise: the sum would be sound, but not the bits of one run.
    if earlier.run.program_version != __version__:
        mended = mended_since(earlier.run.program_version, earlier.scene)
        wrong = "".join(f", in which {law.wrong}" for law in mended)
        reasons.append(f"{made_by(earlier)}{wrong}")
    counted = earlier.fate_names, earlier.tallies.batch_photons
    if not reasons and counted != (compiled.fate_names, 1 << batch_shift(earlier.photons)):
        reasons.append("counted otherwise")
    return "; ".join(reasons)


def summed(sets: Sequence[Maps]) -> Maps:
    """Return the sum of sets of maps, as arrays of their own; those of length 0 add nothing."""
    sums = []
    for counts in zip(*sets, strict=True):
        longest = max(counts, key=len)
        total = longest.copy()
        for other in counts:
            if other is not longest and len(other):
                total += other
        sums.append(total)
    return Maps._make(sums)
