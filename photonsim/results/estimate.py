"""A number with its standard error, and how to print it without false digits."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True)
class Estimate:
    """A value with its standard error; `degrees` of freedom (Student's t), infinite if binomial.

    An error of nan says that there were too few photons to know it; a value of nan with an infinite
    error that there were too few for the value too, where nan alone says that there is none.
    `systematic` bounds how far the value may be off, either way, by what is no chance; it is part
    of no error.

    >>> from photonsim import Estimate
    >>> print(Estimate(0.01234, 0.00056))
    0.01234 ± 0.00056
    >>> Estimate(0.01234, 0.00056).text(100, "%")
    '1.234 ± 0.056 %'
    """

    value: float
    error: float
    degrees: float = math.inf
    systematic: float = 0.0

    def __str__(self) -> str:
        """Value ± error."""
        return self.text()

    @property
    def is_withheld(self) -> bool:
        """Whether there were too few photons for the value."""
        return math.isnan(self.value) and math.isinf(self.error)

    @property
    def relative_error(self) -> float:
        """Standard error over value; infinite for a value of 0 or one that is withheld."""
        return abs(self.error / self.value) if self.value and not self.is_withheld else math.inf

    @property
    def chance_of_zero(self) -> float:
        """Return the two-sided probability of so large a value if the truth were 0.

        Were it off by all of `systematic` besides.
        """
        beyond = self.beyond_systematic
        if not self.error > 0.0:
            return 1.0 if beyond == 0.0 or math.isnan(self.error) else 0.0
        from scipy.special import stdtr  # 0.07 s of a start, and a trace does not ask for it

        return 2.0 * float(stdtr(min(self.degrees, 1e9), -abs(beyond / self.error)))

    @property
    def beyond_systematic(self) -> float:
        """What is left of the value, sign kept, if it is off by all of `systematic`."""
        return math.copysign(max(abs(self.value) - self.systematic, 0.0), self.value)

    def text(self, scale: float = 1.0, unit: str = "") -> str:
        """Return 'value ± error unit', the error with two digits and the value as many places."""
        suffix = f" {unit}" if unit else ""
        value, error = self.value * scale, self.error * scale
        if math.isnan(value):
            return "too few photons" if self.is_withheld else "n/a"
        if not (error > 0.0 and math.isfinite(error)):
            return f"{value:.3g} ± ?{suffix}" if math.isnan(error) else f"{value:.6g}{suffix}"
        places = decimal_places(error)
        if places >= 0:
            return f"{value:.{places}f} ± {error:.{places}f}{suffix}"
        return f"{round(value, places):.0f} ± {round(error, places):.0f}{suffix}"


WITHHELD = Estimate(math.nan, math.inf)


def decimal_places(error: float) -> int:
    """Return the decimal places that show two digits of an error (negative: tens, hundreds)."""
    places = 1 - math.floor(math.log10(error))
    # 0.0996 rounds to 0.10: one place fewer would do.
    return places - 1 if round(error, places) >= 10.0 ** (2 - places) else places
