"""A result handed over to another process: its arrays by a file that both have in memory.

The way of a pool itself, a pipe, copies the 27 MB of a result six times, which takes as long as to
trace half of it.
"""

from __future__ import annotations

import mmap
import pickle
from collections.abc import Callable, Sequence
from contextlib import suppress
from functools import partial
from itertools import accumulate, pairwise
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from photonsim.results import Result


def handed_over(result: Result, file: Path) -> Callable[[], Result]:
    """Write the arrays of a result to a file; return what takes it up once in another process.

    Raises ResultError where the file cannot be written.
    """
    from photonsim.results.files.writing import errors_of_writing

    arrays: list[pickle.PickleBuffer] = []
    rest = pickle.dumps(result, pickle.HIGHEST_PROTOCOL, buffer_callback=arrays.append)
    with errors_of_writing(file), file.open("wb") as opened:
        sizes = [opened.write(array.raw()) for array in arrays]
    return partial(_taken_up, rest, sizes, file)


def _taken_up(rest: bytes, sizes: Sequence[int], file: Path) -> Result:
    with file.open("rb") as opened:
        # What is written to it stays with this process.
        whole = memoryview(mmap.mmap(opened.fileno(), 0, access=mmap.ACCESS_COPY))
    with suppress(PermissionError):  # Windows keeps it until it is used no longer
        file.unlink()
    places = pairwise(accumulate(sizes, initial=0))
    result: Result = pickle.loads(rest, buffers=[whole[first:end] for first, end in places])
    return result
