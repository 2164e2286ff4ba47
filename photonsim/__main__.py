"""The command `photonsim`, also `python -m photonsim`: from the first import to the exit code."""

from __future__ import annotations

import atexit
import contextlib
import gc
import os
import sys
from typing import Any

from photonsim.leaving import USER_MISTAKE, meet_requests


def main() -> None:
    """Run the command that was given, and leave with its exit code."""
    # A start makes 100,000 objects that stay: to look for dead ones after every 700 of them takes
    # 0.1 s of it, and a twentieth of all drawing.
    gc.set_threshold(200_000)
    status: Any = None

    def leave() -> None:
        """Leave with nothing taken apart that ends with the process anyway: that takes 0.02 s.

        Python leaves in its own way where that fails: it tells of words that found no room.
        """
        with contextlib.suppress(OSError, ValueError, TypeError):
            sys.stdout.flush()
            sys.stderr.flush()
            os._exit(status)

    # What is registered first is called last, with threads joined and all else tidied up.
    atexit.register(leave)
    meet_requests()
    _open_closed_streams()
    _settle_environment()
    status = _run()
    sys.exit(status)


def _run() -> Any:
    """Run the command that was given; return what it hands to sys.exit."""
    try:
        from photonsim.cli import main as command

        command(prog_name="photonsim")
    except SystemExit as ended:
        return ended.code
    except (MemoryError, ImportError) as error:  # a limit on memory shows up as either
        reason = str(error) or "there is not enough memory"
        print(f"photonsim cannot run here: {reason}", file=sys.stderr)
        return USER_MISTAKE


# CPython keeps the frames of calls in chunks of 16 kB, asks the system for each and gives it back
# when the first call in it returns. Where a loop calls across such an edge it does so every time:
# 2,600 times in a start, 0.02 s. A frame that asks for more than a chunk has a larger one, with
# room for all that is called from it.
_run.__code__ = _run.__code__.replace(co_stacksize=1 << 14)


def _open_closed_streams() -> None:
    """Give input, output and messages a place where they were closed.

    Otherwise the next file that is opened, a result, would take the number of one of them, and what
    a library prints would go into it.
    """
    for number, name, mode in ((0, "stdin", "r"), (1, "stdout", "w"), (2, "stderr", "w")):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(number, mode, encoding="utf-8", closefd=False))


def _settle_environment() -> None:
    """Take out settings of libraries that mean nothing here, and that a wrong value stops."""
    os.environ["MPLBACKEND"] = "agg"
    # Or else pydantic looks through all installed packages for plug-ins: 0.01 s.
    os.environ["PYDANTIC_DISABLE_PLUGINS"] = "__all__"
    # Products of matrices are small here: threads for them only wait, and take others' time.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for name in ("NUMBA_NUM_THREADS", "SOURCE_DATE_EPOCH"):
        os.environ.pop(name, None)


if __name__ == "__main__":
    main()
