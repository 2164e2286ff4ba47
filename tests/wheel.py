"""The tests against the wheel as it is built, in an environment of its own.

    python -m tests.wheel [--lowest] [--no-compiler] [PYTEST ARGUMENTS]

builds the wheel, installs it with what the tests need, lays its files beside the tests and runs
pytest there; the source tree takes no part. With --lowest, the libraries are the oldest that
pyproject.toml allows; with --no-compiler, numba compiles nothing, so name few tests.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import tomllib
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[1]
BESIDE = ("tests", "scenes", "benchmarks", ".ci", ".github", "pyproject.toml")


def lowest(project: dict[str, list[str]]) -> list[str]:
    """Return the pins of the oldest versions of a project's own libraries."""
    found = [re.fullmatch(r"([\w-]+)>=([\d.]+)", line) for line in project["dependencies"]]
    assert all(found), "a dependency that has no least version"
    return [f"{match[1]}=={match[2]}.*" for match in found if match]


def built(folder: Path) -> Path:
    """Build the wheel into a folder and return its file."""
    pip = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps"]
    subprocess.run([*pip, "--wheel-dir", str(folder), str(ROOT)], check=True)
    (wheel,) = folder.glob("*.whl")
    return wheel


def laid_out(wheel: Path, folder: Path) -> Path:
    """Lay the files of a wheel and the tests beside each other."""
    for name in BESIDE:
        source, target = ROOT / name, folder / name
        if source.is_dir():
            skipped = shutil.ignore_patterns("__pycache__")
            shutil.copytree(source, target, ignore=skipped)
        else:
            shutil.copy(source, target)
    for page in ROOT.glob("*.md"):
        shutil.copy(page, folder)
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(folder)
    return folder


def main() -> int:
    """Build, install, run; return pytest's exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.wheel")
    parser.add_argument("--lowest", action="store_true", help="the oldest libraries allowed")
    parser.add_argument("--no-compiler", action="store_true", help="without numba's compiler")
    asked, arguments = parser.parse_known_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        wheel = built(folder)
        environment = folder / "env"
        subprocess.run([sys.executable, "-m", "venv", str(environment)], check=True)
        python = environment / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
        with (ROOT / "pyproject.toml").open("rb") as file:
            project = tomllib.load(file)["project"]
        pins = lowest(project) if asked.lowest else []
        pip = [str(python), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
        subprocess.run([*pip, f"{wheel}[test]", *pins], check=True)
        tree = folder / "tree"
        tree.mkdir()
        laid_out(wheel, tree)
        off = {"NUMBA_DISABLE_JIT": "1"} if asked.no_compiler else {}
        own = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
        command = [str(python), "-m", "pytest", *arguments]
        return subprocess.run(command, cwd=tree, env=own | off).returncode


if __name__ == "__main__":
    sys.exit(main())
