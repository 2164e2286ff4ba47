"""Processes that draw are forked while no other thread is alive.

A forked process has the locks of its parent as they were, and none of the threads that would let
them go (POSIX.1-2017, fork: until exec it may call what is safe in a signal handler alone). Python
warns of it from 3.12 on.
"""

import os
import subprocess
import sys

import pytest

from photonsim.cli.drawing import FORKS
from photonsim.engine import processors
from tests.shipped import SCENES

pytestmark = pytest.mark.skipif(
    not FORKS or processors() < 2, reason="processes are forked on Linux, for two processors on"
)

# Runs a command as on a terminal, with bars; each fork tells which threads are alive.
WATCHED = """
import os, sys, threading
others = lambda: [one.name for one in threading.enumerate() if one is not threading.main_thread()]
os.register_at_fork(before=lambda: os.write(1, f"forked beside {others()}\\n".encode()))
sys.stderr.isatty = lambda: True
from photonsim.__main__ import main
main()
"""


def forks(*arguments):
    done = subprocess.run(
        [sys.executable, "-c", WATCHED, *map(str, arguments)],
        capture_output=True,
        text=True,
        check=True,
        env=os.environ | {"PYTHONWARNINGS": "error::DeprecationWarning:multiprocessing.popen_fork"},
    )
    return [line for line in done.stdout.splitlines() if line.startswith("forked")]


def test_no_thread_is_alive_where_processes_are_forked(tmp_path):
    one, other = SCENES[0], SCENES[1]
    commands = {
        "compare": (one, other, "--photons", 20_000, "--out", tmp_path),
        "compare again": (one, other, "--photons", 20_000, "--out", tmp_path),
        "figures": (tmp_path, "--out", tmp_path / "drawn"),
    }
    for name, (first, *rest) in commands.items():
        told = forks(name.split()[0], first, *rest)
        assert len(told) >= 2, name
        assert set(told) == {"forked beside []"}, name
