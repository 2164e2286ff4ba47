"""What a person can mend: a sentence and an exit code instead of a traceback."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from photonsim.cli.output import print_text
from photonsim.leaving import USER_MISTAKE, broken_off_in_order, end


@contextmanager
def mistakes_printed() -> Iterator[None]:
    """Turn what a person can mend into a message and exit code 2."""
    from photonsim.results import ResultError
    from photonsim.scene import SceneError

    try:
        with broken_off_in_order():
            yield
    except (ResultError, SceneError) as error:
        print_text(str(error), err=True)
        sys.exit(USER_MISTAKE)
    except BrokenPipeError:  # whoever read the output is gone: click ends with code 1
        raise
    except OSError as error:  # a name too long, a loop of links, a disk that is gone
        print_text(f"{error.filename or 'system'}: {error.strerror or error}", err=True)
        sys.exit(USER_MISTAKE)
    except MemoryError:
        print_text("there is not enough memory for this", err=True)
        sys.exit(USER_MISTAKE)
    except KeyboardInterrupt as broken:
        end(signal.SIGTERM if "SIGTERM" in str(broken) else signal.SIGINT)
