"""Errands: commands that the page has run on what is kept, and the files that they wrote."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

from photonsim.results import ResultError
from photonsim.results.files.writing import write_file
from photonsim.words.escaping import visible

# What may be run, in words; some commands take one lamp at a time.
COMMANDS = {
    "compare": "compare",
    "report": "report",
    "cut": "cutting sheet",
    "supply": "supply",
}
ONE_BY_ONE = ("supply",)
# So much of what a command says is shown, its end.
MOST_WORDS = 20_000
MOST_FILES = 60
# What there is to look at: pages first, then sheets and pictures.
KINDS = {
    ".html": "text/html; charset=utf-8",
    ".pdf": "application/pdf",
    ".csv": "text/plain; charset=utf-8",
    ".md": "text/plain; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".toml": "text/plain; charset=utf-8",
}


class Errands:
    """Runs one command at a time, in a folder of its own, as a person would type it."""

    def __init__(self, folder: Path, tell: Callable[[dict[str, Any]], None]) -> None:
        self.folder, self._tell = folder, tell
        self._is_busy = False
        self._left: list[list[str]] = []
        self._running: subprocess.Popen[str] | None = None

    def run(self, command: str, designs: dict[str, str]) -> None:
        """Write designs, given as TOML by file name, and have a command run on them.

        What it wrote is told when it ends. Raises ResultError.
        """
        if command not in COMMANDS:
            raise ResultError("there is no such command")
        if not designs:
            raise ResultError("keep a design first")
        if self._is_busy:
            raise ResultError("wait for the one that is running, or stop it")
        for name, text in designs.items():
            write_file(self.folder / f"{name}.toml", text.encode())
        scenes = [f"{name}.toml" for name in designs]
        parts = [[scene] for scene in scenes] if command in ONE_BY_ONE else [scenes]
        self._is_busy = True
        self._left = [[command, *part, "--out", f"{command}-out"] for part in parts]
        line = "; ".join(f"photonsim {shlex.join(words)}" for words in self._left)
        threading.Thread(target=self._work, args=(command, line), daemon=True).start()

    def stop(self) -> None:
        """End what runs; what it saved stands."""
        self._left = []
        if running := self._running:
            running.terminate()

    def content(self, name: str) -> tuple[bytes, str] | None:
        """Return a file of the folder and what kind it is; nothing for any other."""
        home = self.folder.resolve()
        try:
            path = (home / name).resolve()
            if not (path.is_relative_to(home) and path.is_file() and path.suffix in KINDS):
                return None
            return path.read_bytes(), KINDS[path.suffix]
        except (OSError, ValueError):
            return None

    def _work(self, command: str, line: str) -> None:
        told = {"line": line, "is_running": True, "words": "", "files": []}
        self._tell(told)
        said = ""
        while self._left:
            self._running = subprocess.Popen(
                [sys.executable, "-m", "photonsim", *self._left.pop(0)],
                cwd=self.folder,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                encoding="utf-8",
                errors="replace",
                env=os.environ | {"PYTHONIOENCODING": "utf-8", "COLUMNS": "80"},
            )
            said += self._running.communicate()[0]
        out, kinds = self.folder / f"{command}-out", list(KINDS)
        found = [path for path in out.rglob("*") if path.suffix in KINDS and path.is_file()]
        found.sort(key=lambda path: (kinds.index(path.suffix), path.name))
        files = [path.relative_to(self.folder).as_posix() for path in found[:MOST_FILES]]
        self._is_busy = False
        words = visible(said[-MOST_WORDS:])
        self._tell(told | {"is_running": False, "words": words, "files": files})
