"""The progress bar: photons, rate and the running collected fraction with its error."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, NoReturn

from photonsim.results import Result

if TYPE_CHECKING:
    from tqdm import tqdm


class ProgressBar:
    """A bar on standard error, or nothing where `shown` is false."""

    def __init__(self, label: str, most_photons: int, start: int, shown: bool) -> None:
        self._bar: tqdm[NoReturn] | None = None
        if not shown:
            return
        from tqdm import tqdm  # 0.01 s of a start

        self._bar = tqdm(
            # A run that ends by error or time has no known length: tqdm then counts without a bar.
            total=most_photons if most_photons < 10**13 else None,
            initial=start,
            desc=label[:24],
            unit=" photons",
            unit_scale=True,
            file=sys.stderr,
            dynamic_ncols=True,
            smoothing=0.2,
        )

    def show(self, result: Result) -> None:
        """Move on to the state of a running result."""
        if self._bar is None:
            return
        self._bar.set_postfix_str(
            "collected " + result.estimate("collected_fraction").text(100.0, "%"), refresh=False
        )
        self._bar.update(result.photons - self._bar.n)

    def close(self) -> None:
        """Leave the last state standing."""
        if self._bar is not None:
            self._bar.close()
