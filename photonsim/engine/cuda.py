"""Tracing on graphics processors: one worker each, with the tallies of its share kept on the card.

`numba.cuda` is only imported here and in kernel/cuda_tally, and only when a GPU is asked for.
"""

from __future__ import annotations

import importlib.util
from typing import Any

import numpy as np

from photonsim.arrays import Counts
from photonsim.kernel.tallies import LOST_KEPT, MOST_DOUBLINGS, Maps
from photonsim.program import Compiled, Program
from photonsim.results import ResultError

PRECISIONS = ("single", "double")
# Blocks for each of a GPU's multiprocessors: a multiple of what it holds at a time (4), and so many
# that the last to end leave little of it idle.
BLOCKS_EACH = 64
# A block counts in 32 bits, squared weights too, of light that a panel's axis may have doubled:
# fewer histories than this each.
MOST_PER_BLOCK = 1 << (28 - 2 * MOST_DOUBLINGS)


def graphics_processors() -> list[Any]:
    """Return the GPUs of this machine as numba names them. Raises ResultError where there are none.

    The message says whether the package, the driver or the GPU is missing.
    """
    try:
        from numba import cuda
    except ImportError as error:
        raise ResultError(f"{_no_gpu()}: {error}") from error
    if importlib.util.find_spec("numba_cuda") is None and not _simulated():
        raise ResultError(f'{_no_gpu()}: numba-cuda is missing; pip install "photonsim[cuda]"')
    try:
        found = list(cuda.gpus)
    except Exception as error:
        reason = str(error).strip().splitlines()[-1]
        raise ResultError(f"{_no_gpu()}: {reason}") from error
    if not found:
        raise ResultError(f"{_no_gpu()}: the driver finds none")
    return found


def in_precision(program: Program, precision: str) -> Program:
    """Return a program with its real numbers in single or double precision, whole ones in 32 bits.

    Raises ResultError for another precision.
    """
    if precision not in PRECISIONS:
        raise ResultError(f"precision {precision!r}: must be one of {', '.join(PRECISIONS)}")
    real = np.float32 if precision == "single" else np.float64

    def converted(value: Any) -> Any:
        if isinstance(value, float):
            return real(value)
        if isinstance(value, int):
            return np.int32(value)
        return np.ascontiguousarray(value, dtype=real if value.dtype.kind == "f" else np.int32)

    return Program._make(converted(value) for value in program)


class CudaWorker:
    """Traces ranges of histories on one GPU; to be used by one thread at a time.

    Offers what engine.workers.Worker does: trace, and the maps so far.
    """

    def __init__(self, processor: Any, compiled: Compiled, seed: int, precision: str) -> None:
        from numba import cuda

        from photonsim.kernel import cuda_tally

        self._cuda, self._processor = cuda, processor
        self.seed = np.uint64(seed)
        self.lost: list[int] = []
        single = precision == "single"
        program = compiled.program
        with processor:
            self._kernel, self._threads = cuda_tally.kernel_for(
                Program,
                _power_of_two(len(program.layer_kind)),
                _power_of_two(len(program.emitter_real)),
                len(program.wavelength_shares),
                cuda_tally.SINGLE if single else cuda_tally.DOUBLE,
                program.traits,
            )
            self._blocks = BLOCKS_EACH * _multiprocessors(processor)
            self._stream = cuda.stream()
            chosen = in_precision(program, precision)
            self._program = Program._make(
                cuda.to_device(v) if isinstance(v, np.ndarray) else v for v in chosen
            )
            real = chosen.layer_z.dtype
            self._edges = cuda.to_device(cuda_tally.DEGREE_EDGES.astype(real))
            self._guess = cuda.to_device(cuda_tally.DEGREE_GUESS.astype(np.uint8))
            self._shapes = compiled.map_shapes
            # The GPU gets one place where there are none: it cannot hold an empty array.
            self._maps = Maps._make(
                cuda.to_device(np.zeros(tuple(max(n, 1) for n in shape), np.int64))
                for shape in self._shapes
            )

    def trace(self, first: int, count: int, shift: int, rows: Counts) -> None:
        """Trace histories first .. first + count - 1 and add them to the tallies and to `rows`."""
        with self._processor:
            lost = self._cuda.to_device(np.zeros(1 + LOST_KEPT, np.int64), self._stream)
            counted = self._cuda.to_device(np.zeros_like(rows), self._stream)
            across = max(self._blocks // len(rows), -(-count // len(rows) // MOST_PER_BLOCK), 1)
            across = max(min(across, -(-count // self._threads)), 1)
            self._kernel[(across, len(rows)), self._threads, self._stream](
                self._program,
                self._edges,
                self._guess,
                self.seed,
                np.uint64(first),
                np.uint64(first + count),
                np.uint64(shift),
                counted,
                self._maps,
                lost,
            )
            numbers = lost.copy_to_host(stream=self._stream)
            found = counted.copy_to_host(stream=self._stream)
            self._stream.synchronize()
        rows += found
        # Threads note given-up histories in any order.
        self.lost += sorted(numbers[1 : 1 + min(int(numbers[0]), LOST_KEPT)].tolist())

    @property
    def maps(self) -> Maps:
        """The maps so far."""
        with self._processor:
            found = [np.asarray(counts.copy_to_host()) for counts in self._maps]
        return Maps._make(
            counts if 0 not in shape else np.zeros(shape, np.int64)
            for counts, shape in zip(found, self._shapes, strict=True)
        )


def _power_of_two(count: int) -> int:
    """Return the smallest power of two that holds a count, at least 16, so that few are needed."""
    return max(16, 1 << (count - 1).bit_length())


def _multiprocessors(processor: Any) -> int:
    """Return how many multiprocessors a GPU has; the simulator does not know the word."""
    return int(getattr(processor, "MULTIPROCESSOR_COUNT", 1))


def _simulated() -> bool:
    from numba.core import config

    simulated: Any = config
    return bool(simulated.ENABLE_CUDASIM)


def _no_gpu() -> str:
    return "no GPU can be used; trace with --device cpu"
