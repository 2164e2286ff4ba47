"""Figures of results, drawn by several processes."""

from __future__ import annotations

import signal
import sys
from collections.abc import Callable, Iterable, Sequence
from contextlib import suppress
from functools import partial
from operator import call
from pathlib import Path
from threading import Thread
from typing import TYPE_CHECKING, Any

from photonsim.cli.output import bar

if TYPE_CHECKING:
    from concurrent.futures import Future, ProcessPoolExecutor

    from photonsim.figures import Look
    from photonsim.results import Result

# macOS can fork too, but its own libraries may not be used afterwards.
FORKS = sys.platform == "linux"
# A process starts anew in the time that it takes to draw three results in short.
FEWEST_EACH = 3
# What forked processes are to do: results are large, and so need not be sent to them.
_inherited: list[Callable[[], list[Path]]] = []


class Drawing:
    """The figures in short of results that come one by one, drawn while others are traced."""

    def __init__(self, out: Path) -> None:
        from tempfile import TemporaryDirectory

        from photonsim.engine import processors

        self.out = out
        self._handed_over = TemporaryDirectory(prefix="photonsim-")
        self._pool = _pool(processors())
        self._drawn: list[Future[list[Path]]] = []
        # This takes 0.3 s, and Python has little to do while light is traced.
        self._importing = Thread(target=_import_figures, daemon=True)
        self._importing.start()

    def add(self, stem: str, result: Result) -> None:
        """Have a result drawn into files whose names begin with a stem."""
        from photonsim.cli.handing_over import handed_over

        # Forked processes have what is imported by now, and no thread to let go of locks.
        self._importing.join()
        from photonsim.figures import IN_SHORT, PRINT

        take_up = handed_over(result, Path(self._handed_over.name) / str(len(self._drawn)))
        work = self._pool.submit(_taken_up_drawn, stem, take_up, IN_SHORT, self.out, PRINT)
        self._drawn.append(work)

    def files(self) -> list[Path]:
        """Return the files of all results once they are drawn."""
        with bar("drawing", "designs", len(self._drawn)) as shown:
            return _collected((some.result() for some in self._drawn), shown.update)

    def close(self) -> None:
        """End, without those that nobody has begun to draw."""
        self._pool.shutdown(cancel_futures=True)
        self._handed_over.cleanup()


def draw(
    results: Sequence[tuple[str, Result]],
    out: Path,
    only: Sequence[str],
    look: Look,
    formats: Sequence[str],
    dots_per_inch: int,
    paths: int,
) -> list[Path]:
    """Draw figures of results, given as (stem of the file names, result); return the files.

    Several processes draw. Where a process can be forked, which takes no time, each figure is a
    piece of their work; elsewhere all those of a result are, since a new process starts slowly.
    """
    from photonsim.engine import processors

    pieces = [(name,) for name in only] if FORKS else [tuple(only)]
    common = (out, look, formats, dots_per_inch, paths)
    work = [
        partial(_drawn, stem, result, names, *common)
        for stem, result in results
        for names in pieces
    ]
    workers = min(processors(), len(work) // (1 if FORKS else FEWEST_EACH))
    with bar("drawing", "figures" if FORKS else "designs", len(work)) as shown:
        if workers < 2:
            return _collected((piece() for piece in work), shown.update)
        with _pool(workers) as pool:
            if FORKS:
                _inherited[:] = work
                drawn = pool.map(_piece, range(len(work)))
            else:
                drawn = pool.map(call, work)
            return _collected(drawn, shown.update)


def _pool(workers: int) -> ProcessPoolExecutor:
    """Return a pool of processes that Ctrl-C, which goes to all, doesn't end: this one does."""
    # Imported here: they take 0.03 s of a start.
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    context = get_context("fork" if FORKS else "spawn")
    return ProcessPoolExecutor(workers, context, signal.signal, (signal.SIGINT, signal.SIG_IGN))


def _import_figures() -> None:
    with suppress(Exception):  # whoever needs them will be told
        import photonsim.figures  # noqa: F401


def _taken_up_drawn(stem: str, take_up: Callable[[], Result], *how: Any) -> list[Path]:
    """Draw figures of a result that was handed over to this process."""
    return _drawn(stem, take_up(), *how)


def _drawn(
    stem: str,
    result: Result,
    names: Sequence[str],
    out: Path,
    look: Look,
    formats: Sequence[str] = ("png",),
    dots_per_inch: int = 200,
    paths: int = 30,
) -> list[Path]:
    """Draw some figures of one result, those of the side view with as many light paths."""
    from photonsim.engine import sample_paths
    from photonsim.figures import draw_all

    seen = paths if "side_view" in names else 0
    light = sample_paths(result.scene, 0, result.seed, arriving=seen)
    return draw_all(result, light, out, stem, names, look, formats, dots_per_inch)


def _piece(number: int) -> list[Path]:
    """Do a piece of the work that a forked process has from where it was forked."""
    return _inherited[number]()


def _collected(drawn: Iterable[Sequence[Path]], step: Callable[[], Any]) -> list[Path]:
    files: list[Path] = []
    for some in drawn:
        files += some
        step()
    return files
