"""A process of its own for cases that may hang, crash or swallow memory, watched from here."""

from __future__ import annotations

import faulthandler
import multiprocessing
import os
import sys
import tempfile
import traceback
import warnings
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, NamedTuple

import matplotlib

from photonsim.engine import sample_paths, trace
from photonsim.scene import load_scene
from tests.shipped import scene

try:
    import resource
except ImportError:  # no such thing on Windows: there only time is watched
    resource = None  # type: ignore[assignment]

ROOT = Path(__file__).parents[2]
# The start of the names of folders in which good files are made to be spoilt.
PREPARED = "fuzz-prepared-"
# With scene "a", lamps that need every one of the compiled tracers.
OTHERS = [ROOT / "tests" / "scene" / f"{name}.toml" for name in ("polarised", "all_kinds")]
# The slowest harmless case, a scene that is checked, traced and saved on a busy machine, takes 3 s.
SECONDS_A_CASE = 60.0
SECONDS_TO_COMPILE = 300.0
# Interpreter, compiled tracer and figures take some 400 MB; a case may double that.
MOST_GROWTH_MB = 500.0


class Verdict(NamedTuple):
    """How a case ended, in a word for the table, and what there is to complain of."""

    ending: str
    complaints: list[str]
    told: str = ""


# A case is made and judged from its number, in a folder of its own.
Case = Callable[[int, Path], Verdict]


class Watched:
    """Runs cases in a child process; a child that hangs or dies is replaced, and that is told."""

    def __init__(self, case: Case, seconds: float = SECONDS_A_CASE) -> None:
        self.case, self.seconds = case, seconds
        self._start()

    def _start(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._here, there = context.Pipe()
        self._child = context.Process(target=_serve, args=(there, self.case), daemon=True)
        self._child.start()
        there.close()
        if not self._here.poll(SECONDS_TO_COMPILE) or self._here.recv() != "ready":
            raise RuntimeError("the tracer could not be compiled")

    def verdict(self, number: int) -> Verdict:
        """Return the verdict on case `number`."""
        try:
            self._here.send(number)
            if self._here.poll(self.seconds):
                return self._here.recv()
            ending = f"no end after {self.seconds:g} s"
        except (EOFError, BrokenPipeError, ConnectionResetError):
            self._child.join()
            ending = f"the process died with {self._child.exitcode}"
        self.close()
        self._start()
        return Verdict("broken", [ending])

    def close(self) -> None:
        """End the child."""
        self._child.kill()
        self._child.join()
        self._here.close()


class _Opened:
    """Files that Python opened during a case, by an audit hook: none outside what was named."""

    # Libraries, their data and settings, and the devices that every program may read.
    HARMLESS = tuple(
        os.path.realpath(place)
        for place in (sys.prefix, sys.base_prefix, ROOT, matplotlib.get_cachedir(),
                      matplotlib.get_configdir(), "/usr", "/etc", "/proc", "/dev", "/sys")
    )  # fmt: skip

    def __init__(self) -> None:
        self.folder = ""
        self.strange: list[str] = []
        sys.addaudithook(self._hook)

    def _hook(self, event: str, arguments: tuple[Any, ...]) -> None:
        if event != "open" or not self.folder or not isinstance(arguments[0], str | bytes):
            return
        path = os.path.realpath(os.fsdecode(arguments[0]))
        if PREPARED in path or path == os.devnull:
            return
        writes = isinstance(arguments[1], str) and set(arguments[1]) & set("wax+")
        if not path.startswith(self.folder) and (writes or not path.startswith(self.HARMLESS)):
            self.strange.append(f"{'wrote' if writes else 'read'} {path}")


def _serve(connection: Connection, case: Case) -> None:
    faulthandler.enable()
    # A number that overflows in passing is a mistake in the making.
    warnings.simplefilter("error", RuntimeWarning)
    for lamp in (scene("a"), *map(load_scene, OTHERS)):
        for guiding in ("auto", "off"):
            trace(lamp, photons=1, guide=guiding)
        sample_paths(lamp, 1)
    opened = _Opened()
    connection.send("ready")
    while True:
        try:
            number = connection.recv()
        except EOFError:
            return
        faulthandler.dump_traceback_later(0.9 * SECONDS_A_CASE)
        before = _peak_mb()
        opened.strange = []
        with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as folder:
            opened.folder = os.path.realpath(folder)
            try:
                found = case(number, Path(folder))
            except Exception:
                found = Verdict("broken", [traceback.format_exc()])
            opened.folder = ""
        found.complaints.extend(opened.strange)
        faulthandler.cancel_dump_traceback_later()
        grown = _peak_mb() - before
        if grown > MOST_GROWTH_MB:
            found.complaints.append(f"took {grown:.0f} MB more than anything before")
        connection.send(found)


def _peak_mb() -> float:
    if resource is None:
        return 0.0
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0
