"""The lamps that are shipped: in a source tree beside the package, once installed within it."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).parents[1]
# pyproject.toml puts the folder `scenes` here in a wheel.
INSTALLED = PACKAGE / "lamps"
SOURCE = PACKAGE.parent / "scenes"


def shipped_scenes() -> dict[str, bytes]:
    """Return what is shipped for people to start from, by its path within the folder.

    Scene files, the data they name, the pages about them and the notebook; empty where the package
    was installed without them.
    """
    folder = INSTALLED if INSTALLED.is_dir() else SOURCE
    patterns = ("*.toml", "*.ipynb", "*.md", "backlight/*", "measured/*")
    found = [path for pattern in patterns for path in sorted(folder.glob(pattern))]
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}
