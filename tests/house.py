"""A copy of the package and its tests, to be changed as a recipe says and used from outside."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]


def copied_to(folder):
    """Copy package and tests to an empty folder and return it."""
    for name in ("photonsim", "tests"):
        skipped = shutil.ignore_patterns("__pycache__")
        shutil.copytree(ROOT / name, folder / name, ignore=skipped)
    shutil.copy(ROOT / "pyproject.toml", folder)
    return folder


def edit(path, *changes):
    """Replace in a file each old text, which stands there once, by a new one."""
    text = path.read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")


def run_in(folder, *arguments, **environment):
    """Run Python with the copy and return what it printed; it must end without an error."""
    own = {"PYTHONPATH": str(folder), "PHOTONSIM_CACHE": str(folder / "cache")}
    done = subprocess.run(
        [sys.executable, "-W", "ignore", *arguments],
        cwd=folder,
        env=os.environ | own | environment,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    return done.stdout
