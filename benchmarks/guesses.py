"""What a processor's wrong guesses at branches cost, and what memory does, without its counters.

A short range of histories, traced again and again, is a row of branches that the processor learns
by heart: what a history takes less than one of fresh ones is the price of wrong guesses and of
memory. Fresh ones again, with a panel of few pixels that stays in the nearest cache, tell the two
apart. Unguided, on one thread. Run it with `python -m benchmarks.guesses [SCENE...]`.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from benchmarks.timing import taking_turns
from photonsim.kernel.compiler import jit
from photonsim.kernel.entry import jit_entry
from photonsim.kernel.flights import no_flights
from photonsim.kernel.tallies import LOST_KEPT, Maps
from photonsim.kernel.tally import trace_range
from photonsim.program import Compiled
from photonsim.scene import load_scene

# A processor of 2024 learns the branches of 512 histories of the split film, and half of 4,096's.
LEARNT, HISTORIES, REPEATS = 256, 1 << 18, 15
FEW_PIXELS = (17, 30)
ALL_IN_ONE_ROW = np.uint64(63)
HEADS = ("ns a history", "few pixels", "learnt by heart", "memory", "wrong guesses")
trace_piece = jit(trace_range)


def trace_pieces(program, seed, step, count, times, row_shift, rows, maps, lost, flights):  # type: ignore[no-untyped-def]
    """Trace the first `count` histories, and `times` - 1 times those that lie `step` further on."""
    for k in range(times):
        first = step * np.uint64(k)
        trace_piece(program, seed, first, count, row_shift, rows, maps, lost, flights)


def rate_of(compiled: Compiled, step: int, panel: tuple[int, int] | None) -> Callable[[], float]:
    """Return what measures histories a second in pieces that begin `step` histories apart."""
    shapes = compiled.map_shapes
    pixels = panel or shapes.panel[:2]
    shapes = shapes._replace(panel=(*pixels, shapes.panel[2]))
    maps = Maps._make(np.zeros(shape, np.int64) for shape in shapes)
    rows = np.zeros((1, compiled.row_width), np.int64)
    lost, times = np.zeros(1 + LOST_KEPT, np.int64), HISTORIES // LEARNT
    seed, apart, flights = np.uint64(1), np.uint64(step), no_flights()
    trace = jit_entry(trace_pieces)

    def measure() -> float:
        start = time.process_time()
        trace(
            *(compiled.program, seed, apart, LEARNT, times),
            *(ALL_IN_ONE_ROW, rows, maps, lost, flights),
        )
        return HISTORIES / (time.process_time() - start)

    measure()
    return measure


def main() -> None:
    """Print the table, of the scenes that are named or of three shipped ones."""
    print("| lamp | " + " | ".join(HEADS) + " |\n|" + " --- |" * (len(HEADS) + 1))
    folder = Path(__file__).parents[1] / "scenes"
    shipped = [
        folder / f"{name}.toml" for name in ("d_split_film", "f_point_lamp", "j_fresnel_sheets")
    ]
    for path in map(Path, sys.argv[1:] or shipped):
        compiled = Compiled(load_scene(path), None)
        rates = taking_turns(
            {
                "fresh": rate_of(compiled, LEARNT, None),
                "few pixels": rate_of(compiled, LEARNT, FEW_PIXELS),
                "learnt": rate_of(compiled, 0, FEW_PIXELS),
            },
            REPEATS,
        )
        fresh, few, learnt = (1e9 / rate.median for rate in rates.values())
        shares = f"{1 - few / fresh:.0%} | {(few - learnt) / fresh:.0%}"
        print(f"| {path.stem} | {fresh:.0f} | {few:.0f} | {learnt:.0f} | {shares} |", flush=True)


if __name__ == "__main__":
    main()
