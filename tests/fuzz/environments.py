"""Odd environments, each with a process of its own: settings, closed streams, limits, folders."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from pathlib import Path

from tests.fuzz.watched import ROOT, Verdict

VALUES = ("", "x", "0", "-1", "1", "/dev/null", "/nowhere/at/all", "\u00e9", "a" * 5000, "nan", "/")
NAMES = (
    *("HOME", "XDG_CACHE_HOME", "PHOTONSIM_CACHE", "MPLCONFIGDIR", "MPLBACKEND", "TMPDIR", "TZ"),
    *("LANG", "LC_ALL", "COLUMNS", "LINES", "TERM", "NO_COLOR", "FORCE_COLOR", "PYTHONIOENCODING"),
    *("NUMBA_NUM_THREADS", "NUMBA_CACHE_DIR", "NUMBA_OPT", "NUMBA_DEBUG", "OMP_NUM_THREADS"),
    *("SOURCE_DATE_EPOCH", "HDF5_USE_FILE_LOCKING", "HDF5_PLUGIN_PATH", "PYTHONUTF8", "USER"),
    *("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS", "PYTHONHASHSEED", "PYTHONWARNINGS", "PATH"),
)
# What the interpreter itself refuses before a line of ours is run.
NOT_OURS = ("Fatal Python error", "LookupError: unknown encoding", "PYTHONHASHSEED")
# The settings that do it, where stderr is closed and nothing can be told.
ITS_OWN = {"PYTHONHASHSEED", "PYTHONIOENCODING", "PYTHONUTF8"}


def judge(number: int, folder: Path) -> Verdict:
    """Run `check` with drawings in environment `number`."""
    luck = random.Random(number)
    environment = dict(os.environ) | {"PYTHONPATH": str(ROOT)}
    odd = {}
    for name in luck.sample(NAMES, luck.choice((1, 2, 4))):
        if luck.random() < 0.2:
            environment.pop(name, None)
        else:
            odd[name] = luck.choice(VALUES)
    scene = str(ROOT / "scenes" / "a_bars.toml")
    command = [sys.executable, "-m", "photonsim", "check", scene, "--out", str(folder / "out")]
    if os.name == "posix" and luck.random() < 0.3:
        closed = luck.choice(("0<&-", "1>&-", "2>&-", "1>&- 2>&-", "0<&- 1>&- 2>&-"))
        command = ["/bin/sh", "-c", f'exec "$@" {closed}', "sh", *command]
    done = subprocess.run(command, env=environment | odd, capture_output=True, cwd=folder)
    told = done.stderr.decode("utf-8", "replace")
    silent = not told and done.returncode == 1 and ITS_OWN & set(odd)
    if silent or (done.returncode and any(words in told for words in NOT_OURS)):
        return Verdict("not ours", [])
    complaints = []
    if done.returncode not in (0, 2):
        complaints.append(f"{odd}, {command[:3]}: {done.returncode}, {told[-2000:]}")
    if "Traceback" in told:
        complaints.append(f"{odd}, {command[:3]}: traceback {told[-2000:]}")
    return Verdict("taken" if done.returncode == 0 else "refused", complaints)
