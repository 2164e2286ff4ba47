"""The progress bar: photons, rate, time left, and the running figure of merit with its error."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NoReturn

from photonsim.engine.stop_rule import StopRule
from photonsim.results import FIGURES, Result

if TYPE_CHECKING:
    from tqdm import tqdm


def unwatched_bar(**how: Any) -> tqdm[NoReturn]:
    """Return tqdm's bar on standard error without tqdm's thread, which wakes bars that stand still.

    Processes are forked while bars are shown, and should be forked while no other thread is alive.
    """
    from tqdm import tqdm  # 0.01 s of a start

    class Bar(tqdm):  # type: ignore[type-arg]
        monitor_interval = 0

    return Bar(file=sys.stderr, dynamic_ncols=True, miniters=1, **how)


class ProgressBar:
    """A bar on standard error, or nothing where `shown` is false."""

    def __init__(self, label: str, rule: StopRule, start: int, shown: bool) -> None:
        self._rule = rule
        self._bar: tqdm[NoReturn] | None = None
        if not shown:
            return
        self._bar = unwatched_bar(
            # A run that ends by error or time has no known length: tqdm then counts without a bar.
            total=rule.most_photons if rule.most_photons < 10**13 else None,
            initial=start,
            desc=label[:24],
            unit=" photons",
            unit_scale=True,
            smoothing=0.2,
        )

    def show(self, so_far: Callable[[], Result]) -> None:
        """Move on to the state of a running result, which is asked for if there is a bar."""
        if self._bar is None:
            return
        result = so_far()
        figure, wanted = FIGURES[self._rule.figure], self._rule.relative_error
        estimate = result.estimate(figure.name)
        reached = estimate.text(figure.scale, figure.unit)
        self._bar.set_postfix_str(f"{figure.words} {reached}", refresh=False)
        if wanted is not None and math.isfinite(estimate.relative_error):
            # Errors fall with the root of the count.
            needed = int((estimate.relative_error / wanted) ** 2 * result.photons)
            self._bar.total = max(min(needed, self._rule.most_photons), result.photons)
        self._bar.update(result.photons - self._bar.n)

    def close(self) -> None:
        """Leave the last state standing."""
        if self._bar is not None:
            self._bar.close()
