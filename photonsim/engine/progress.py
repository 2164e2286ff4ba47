"""The progress bar: photons, rate and the running collected fraction with its error."""

from __future__ import annotations

import sys

from tqdm import tqdm

from photonsim.results import Result


class ProgressBar:
    """A bar on standard error, or nothing where `shown` is false."""

    def __init__(self, label: str, most_photons: int, start: int, shown: bool) -> None:
        # A run that ends by error or time has no known length: tqdm then counts without a bar.
        total = most_photons if most_photons < 10**13 else None
        self._bar = tqdm(
            total=total,
            initial=start,
            desc=label[:24],
            unit=" photons",
            unit_scale=True,
            disable=not shown,
            file=sys.stderr,
            dynamic_ncols=True,
            smoothing=0.2,
        )

    def show(self, result: Result) -> None:
        """Move on to the state of a running result."""
        if self._bar.disable:
            return
        self._bar.set_postfix_str(
            "collected " + result.estimate("collected_fraction").text(100.0, "%"), refresh=False
        )
        self._bar.update(result.photons - self._bar.n)

    def close(self) -> None:
        """Leave the last state standing."""
        self._bar.close()
