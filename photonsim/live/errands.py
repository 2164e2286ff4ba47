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

from photonsim.results.files.writing import write_file
from photonsim.words.escaping import visible

COMMANDS = ("compare", "report", "cut", "supply")
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
Tell = Callable[[dict[str, Any]], None]


class Errands:
    """Runs one command at a time, in a folder of its own, as a person would type it."""

    def __init__(self, folder: Path, tell: Tell) -> None:
        self.folder, self._tell = folder, tell
        self._running: subprocess.Popen[str] | None = None
        self._lock = threading.Lock()

    def run(self, command: str, designs: dict[str, str]) -> str:
        """Write designs, given as TOML by file name, and have a command run on them.

        Returns in words why not, if not. What it wrote is told when it ends.
        """
        if command not in COMMANDS:
            return "there is no such command"
        if not designs:
            return "keep a design first"
        with self._lock:
            if self._running is not None:
                return "wait for the one that is running, or stop it"
            for name, text in designs.items():
                write_file(self.folder / f"{name}.toml", text.encode())
            scenes = [f"{name}.toml" for name in designs]
            words = [command, *scenes, "--out", f"{command}-out"]
            self._running = subprocess.Popen(
                [sys.executable, "-m", "photonsim", *words],
                cwd=self.folder,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                text=True,
                encoding="utf-8",
                errors="replace",
                env=os.environ | {"PYTHONIOENCODING": "utf-8", "COLUMNS": "80"},
            )
        told = {"command": command, "line": f"photonsim {shlex.join(words)}"}
        self._tell(told | {"is_running": True, "words": "", "files": []})
        threading.Thread(target=self._wait, args=(self._running, told), daemon=True).start()
        return ""

    def stop(self) -> None:
        """End what runs; what it saved stands."""
        running = self._running
        if running is not None:
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

    def _wait(self, running: subprocess.Popen[str], told: dict[str, Any]) -> None:
        said, _ = running.communicate()
        with self._lock:
            self._running = None
        words = visible(said[-MOST_WORDS:])
        files = self._files(self.folder / f"{told['command']}-out")
        self._tell(told | {"is_running": False, "words": words, "files": files})

    def _files(self, folder: Path) -> list[str]:
        """Return the names of what there is to look at, in the order of KINDS."""
        found = [path for path in folder.rglob("*") if path.suffix in KINDS and path.is_file()]
        found.sort(key=lambda path: (list(KINDS).index(path.suffix), path.name))
        return [path.relative_to(self.folder).as_posix() for path in found[:MOST_FILES]]
