"""The scene's file, in case somebody changes it while the page is open."""

from __future__ import annotations

from pathlib import Path

from photonsim.scene import Scene, SceneError, load_scene


class Watched:
    """A file that is looked at now and then; what it holds is taken up only when asked for."""

    def __init__(self, file: Path | None) -> None:
        self._file = file
        self._known = self._stamp()

    def _stamp(self) -> tuple[int, int] | None:
        try:
            found = self._file.stat() if self._file else None
        except OSError:
            return None
        return found and (found.st_mtime_ns, found.st_size)

    def changed(self) -> str:
        """Say that the file has changed since it was last looked at; nothing if it has not."""
        stamp = self._stamp()
        if self._file is None or stamp == self._known:
            return ""
        self._known = stamp
        try:
            load_scene(self._file)
        except SceneError as error:
            return f"{self._file.name} has changed, and can't be read: {error.mistakes[0]}"
        return f"{self._file.name} has changed; 'Start from the file' takes it up"

    def latest(self, otherwise: Scene) -> Scene:
        """Return the scene as the file has it now. Raises SceneError for mistakes in it."""
        return load_scene(self._file) if self._file else otherwise
