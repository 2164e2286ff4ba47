"""What guided emission brings: variance and time of a history, with a guide and without.

Over 128 blocks of the emission's net, on every shipped lamp: times less variance per history of the
panel's 9 by 9 cells, of single pixels joined to 48 by 27, and of all light, collected and arriving;
times the processor's time of a history, and times it with a guide that gives every cell the same;
and how much of a guided history that is more: what drawing the direction by slots costs, with
weights to count and directions in a less even order. Run it with `python -m benchmarks.guide`.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

from photonsim.arrays import Counts, Reals
from photonsim.engine.pilot import pilot
from photonsim.engine.rows import unpack
from photonsim.engine.workers import Worker
from photonsim.kernel import codes
from photonsim.kernel.allotment import EVEN
from photonsim.kernel.digital_net import BLOCK_BITS
from photonsim.program import Compiled
from photonsim.results.panel.blocks import block_sums
from photonsim.scene import load_scene

BLOCKS, BLOCK, SEED = 128, 1 << BLOCK_BITS, 5
REPEATS = 9
HEADS = ("cells", "pixels", "all", "arriving cells", "arriving", "time", "even", "drawing (%)")


class Traced:
    """Some blocks of a lamp, one after another, and the processor's time that they took."""

    def __init__(self, compiled: Compiled) -> None:
        self.compiled = compiled
        self.worker = Worker(compiled, SEED)
        self.rows = np.zeros((BLOCKS, compiled.row_width), dtype=np.int64)
        pixels: list[Counts] = []
        self.worker.trace(0, 0, BLOCK_BITS, self.rows)
        for block in range(BLOCKS):
            before = self.worker.maps.panel[..., codes.COLLECTED].copy()
            self.worker.trace(block * BLOCK, BLOCK, BLOCK_BITS, self.rows[block : block + 1])
            found = self.worker.maps.panel[..., codes.COLLECTED] - before
            pixels.append(block_sums(found, 48))
        self.pixels = np.array(pixels)

    def seconds(self) -> float:
        """Return the processor's time for all blocks once more."""
        rows, start = np.zeros_like(self.rows), time.process_time()
        self.worker.trace(0, BLOCKS * BLOCK, BLOCK_BITS, rows)
        return time.process_time() - start

    def variances(self, counts_per_photon: int) -> Reals:
        """Return the mean variance of each kind of count by block, in photons squared."""
        cells = unpack(self.rows, self.compiled.fate_codes)["cells"]
        kinds = (
            cells[:, 1],
            self.pixels,
            cells[:, 1].sum(axis=(1, 2)),
            cells[:, 0],
            cells[:, 0].sum(axis=(1, 2)),
        )
        return np.array([(k / counts_per_photon).var(axis=0, ddof=1).mean() for k in kinds])


def main() -> None:
    """Print the table."""
    print("| lamp | " + " | ".join(HEADS) + " |\n|" + " --- |" * (len(HEADS) + 1))
    folder = Path(__file__).parents[1] / "scenes"
    for path in sorted(folder.glob("[a-z]_*.toml")):
        scene = load_scene(path)
        guide = pilot(scene, 1)
        if guide is None:
            print(f"| {path.stem} | none: less than a tenth |", file=sys.stdout, flush=True)
            continue
        runs = [Traced(Compiled(scene, each)) for each in (None, guide, EVEN)]
        plain, guided, even = np.array([[run.seconds() for run in runs] for _ in range(REPEATS)]).T
        less = runs[0].variances(1) / runs[1].variances(guide.counts_per_photon)
        times = [np.median(guided / plain), np.median(even / plain)]
        shown = " | ".join(f"{figure:.2f}" for figure in (*less, *times))
        share = 100.0 * np.median((even - plain) / guided)
        print(f"| {path.stem} | {shown} | {share:.1f} |", flush=True)


if __name__ == "__main__":
    main()
