"""What a figure was measured on: a rate means nothing without it."""

from __future__ import annotations

import datetime
import os
import platform
import subprocess
from pathlib import Path
from typing import Any

import llvmlite.binding
import numba
import numpy as np

from photonsim import __version__
from photonsim.engine import processors

# With more than this share of the processors busy before the first run, others are at work.
BUSY_SHARE = 0.2


def facts() -> dict[str, Any]:
    """Return the facts of this machine and of the programs that matter, for the JSON file.

    What cannot be found out is None.
    """
    return {
        "date": datetime.datetime.now().astimezone().isoformat(timespec="seconds"),
        "processor": _processor(),
        "cores": processors(),
        "memory_gb": _memory_gb(),
        "system": platform.platform(),
        "python": platform.python_version(),
        "numpy": np.__version__,
        "numba": numba.__version__,
        "llvm": ".".join(str(part) for part in llvmlite.binding.llvm_version_info),
        "photonsim": __version__,
        "commit": _commit(),
        "load": _load(),
    }


def headline(found: dict[str, Any]) -> str:
    """Return the facts in two lines, with a warning where the machine is not quiet."""
    memory = "" if found["memory_gb"] is None else f", {found['memory_gb']:.0f} GB"
    lines = [
        f"{found['processor']}, {found['cores']} cores{memory}; {found['system']}",
        f"Python {found['python']}, numpy {found['numpy']}, numba {found['numba']}, "
        f"LLVM {found['llvm']}; commit {found['commit'] or 'unknown'}; {found['date']}",
    ]
    load = found["load"]
    if load is not None and load > BUSY_SHARE * found["cores"]:
        lines.append(
            f"WARNING: the machine is not quiet (load {load:.1f} on {found['cores']} cores): "
            "rates come out low and their ratios uncertain"
        )
    return "\n".join(lines)


def _processor() -> str:
    """Return the processor's name as the system tells it."""
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        for line in cpuinfo.read_text(encoding="utf-8").splitlines():
            if line.startswith("model name"):
                return line.partition(":")[2].strip()
    return platform.processor() or platform.machine()


def _memory_gb() -> float | None:
    try:
        import psutil
    except ImportError:
        if not hasattr(os, "sysconf"):
            return None
        return os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 1e9
    return float(psutil.virtual_memory().total) / 1e9


def _load() -> float | None:
    """Return how many processors were busy over the last minute; None on Windows."""
    return round(os.getloadavg()[0], 2) if hasattr(os, "getloadavg") else None


def _commit() -> str | None:
    """Return the commit of the sources, marked where they were edited since."""
    try:
        done = subprocess.run(
            ["git", "describe", "--always", "--dirty"],
            cwd=Path(__file__).parent,
            capture_output=True,
            text=True,
            check=True,
        )
    except (OSError, subprocess.CalledProcessError):
        return None
    return done.stdout.strip()
