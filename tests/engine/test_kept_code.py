"""Compiled code on disk: any damage, a full disk or a foreign owner, and the program still runs."""

import os
import pickle
import subprocess
import sys
from pathlib import Path

import pytest

# One small function in the place of the tracer, which takes half a minute to compile.
SOURCE = """
import sys
import numpy as np
from photonsim.kernel.entry import Entry

def double(x, found):
    found[0] = 2.0 * x

if __name__ == "__main__":
    found = np.zeros(1)
    Entry("double", lambda: double)(21.0, found)
    print(found[0], "compiled" if "numba" in sys.modules else "kept")
"""


def run(folder: Path, before: str = "") -> tuple[str, str]:
    """Run the function in a process of its own; return what it printed and what it said."""
    (folder / "double.py").write_text(SOURCE)
    script = f"import runpy; runpy.run_path({str(folder / 'double.py')!r}, run_name='__main__')"
    done = subprocess.run(
        [sys.executable, "-c", f"{before}\n{script}"],
        env=os.environ | {"PHOTONSIM_CACHE": str(folder / "cache")},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout.strip(), done.stderr.strip()


class Harm:
    def __reduce__(self):
        return os.mkdir, ("owned",)


def flipped(data: bytes) -> bytes:
    return data[: len(data) // 2] + bytes([data[len(data) // 2] ^ 1]) + data[len(data) // 2 + 1 :]


DAMAGE = {
    "empty": lambda data: b"",
    "cut short": lambda data: data[: len(data) // 2],
    "one byte flipped": flipped,
    "zeros": lambda data: bytes(len(data)),
    "another file": lambda data: b"\x89PNG\r\n\x1a\n" + data,
    "a pickle that means harm": lambda data: pickle.dumps(Harm()),
    "the same with a digest cut off": lambda data: data[32:],
}


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A folder with the function compiled and kept."""
    folder = tmp_path_factory.mktemp("kept")
    assert run(folder) == ("42.0 compiled", "")
    assert run(folder) == ("42.0 kept", "")
    return folder


@pytest.mark.parametrize("damage", DAMAGE)
def test_damage_is_told_in_a_line_and_mended(kept, tmp_path, monkeypatch, damage):
    monkeypatch.chdir(tmp_path)
    (file,) = (kept / "cache").rglob("double-*")
    file.write_bytes(DAMAGE[damage](file.read_bytes()))
    printed, said = run(kept)
    assert printed == "42.0 compiled"
    assert said.count("\n") == 0 and "can't be used" in said
    assert not (tmp_path / "owned").exists()
    assert run(kept) == ("42.0 kept", "")


def test_a_file_that_became_a_folder_is_done_without(tmp_path):
    run(tmp_path)
    (kept,) = (tmp_path / "cache").rglob("double-*")
    kept.unlink()
    kept.mkdir()
    printed, said = run(tmp_path)
    assert printed.startswith("42.0") and said


def test_a_full_disk_is_told_as_what_it_is(tmp_path):
    pytest.importorskip("resource", reason="POSIX only")
    limit = "import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))"
    printed, said = run(tmp_path, limit)
    assert printed.startswith("42.0")
    assert "compiled code is not kept" in said and said.count("\n") == 0


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="folders have other rights on this system")
def test_a_folder_that_others_can_write_to_is_told(tmp_path):
    (tmp_path / "cache").mkdir()
    (tmp_path / "cache").chmod(0o777)
    printed, said = run(tmp_path)
    assert printed.startswith("42.0")
    assert "another user" in said and said.count("\n") == 0
