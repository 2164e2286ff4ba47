"""The scenes that are shipped, and small variations of them, for tests."""

from __future__ import annotations

from pathlib import Path

import photonsim
from photonsim.scene import Scene, parse_scene

FOLDER = Path(__file__).parent.parent / "scenes"
# Those that the first command traces, and those in folders of their own.
SCENES = sorted(FOLDER.glob("*.toml"))
APART = sorted(FOLDER.glob("*/*.toml"))


def scene(stem: str, **replaced: str) -> Scene:
    """Return a shipped scene by the start of its file name.

    Each keyword value is a replacement 'old => new' in its text, which must occur.
    """
    path = next(path for path in SCENES if path.stem.startswith(stem))
    if not replaced:
        return photonsim.load_scene(path)
    text = path.read_text(encoding="utf-8")
    for change in replaced.values():
        old, new = change.split(" => ")
        assert old in text, old
        text = text.replace(old, new)
    return parse_scene(text, path.name)
