"""From what a data sheet gives of a diffuser to the lobe that the kernel samples."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

# scipy is imported in the functions: of a trace's start scipy.optimize takes 0.18 s and
# scipy.special 0.07 s, and a lamp without a scattering sheet needs neither.

# ASTM D1003: light that leaves by more than 2.5 degrees from the incident beam is haze.
HAZE_COSINE = math.sin(math.radians(2.5))
NARROWEST, WIDEST = 1e-4, 50.0
TABLE_SIZE = 513
OPAL_HAZE = 1.0 - HAZE_COSINE**2


class Lobe(NamedTuple):
    """A scatter lobe: standard deviation in direction cosines (negative: opal), direct share."""

    sigma: float
    direct: float


OPAL = Lobe(-1.0, 0.0)


def kept_share(p_squared: NDArray[np.float64] | float, sigma: float) -> NDArray[np.float64]:
    """Return G(p), the share of a normal lobe about p that lies inside the unit disc.

    |p + d|**2 / sigma**2 follows a non-central chi-squared law with two degrees of freedom.
    """
    from scipy.special import chndtr

    return np.asarray(chndtr(1.0 / sigma**2, 2, np.asarray(p_squared) / sigma**2))


def given_back_share(sigma: float) -> float:
    """Return the mean of 1 - G(p) over the unit disc: what is given back of Lambertian light.

    exp(-1/sigma**2) (I0(1/sigma**2) + I1(1/sigma**2)) (derived; checked by quadrature).
    """
    from scipy.special import ive

    return float(ive(0, 1.0 / sigma**2) + ive(1, 1.0 / sigma**2))


def returned_squared_radii(sigma: float) -> NDArray[np.float64]:
    """Return the inverse distribution of p**2 for light given back, density 1 - G(p).

    [TABLE_SIZE] values at even steps of probability, for the kernel's inverse_cumulative.
    """
    # 1 - G lives near the rim for a narrow lobe: nodes that crowd there, in steps of sigma.
    depth = 1.0 - (1.0 - np.linspace(0.0, 1.0, 8001)) ** 3
    squared = depth
    density = 1.0 - kept_share(squared, sigma)
    cumulative = np.concatenate(
        ([0.0], np.cumsum(0.5 * (density[1:] + density[:-1]) * np.diff(squared)))
    )
    if cumulative[-1] <= 0.0:
        return np.ones(TABLE_SIZE)
    cumulative /= cumulative[-1]
    rising = np.concatenate(([True], np.diff(cumulative) > 0.0))
    return np.interp(np.linspace(0.0, 1.0, TABLE_SIZE), cumulative[rising], squared[rising])


def lobe_haze(sigma: float) -> float:
    """Return the haze (ASTM D1003, 0..1) of a lobe of `sigma` without a direct share."""
    near = 1.0 - math.exp(-0.5 * (HAZE_COSINE / sigma) ** 2)
    lost = 1.0 - float(kept_share(0.0, sigma))
    # 1 - G hardly changes within 2.5 degrees of the axis: its value at half that squared sine.
    squared = HAZE_COSINE**2
    within = squared * (1.0 - float(kept_share(0.5 * squared, sigma))) / given_back_share(sigma)
    return 1.0 - near - lost * within


def lobe_half_angle_deg(sigma: float) -> float:
    """Return the angle from the axis at which the intensity of scattered light has halved, degrees.

    For light at normal incidence; the intensity is (density in direction cosines) * cosine.
    """
    from scipy.optimize import brentq

    peak = _density(0.0, sigma)

    def excess(sine: float) -> float:
        return _density(sine, sigma) * math.sqrt(1.0 - sine * sine) - 0.5 * peak

    return math.degrees(math.asin(brentq(excess, 0.0, 1.0, xtol=1e-12)))


def lobe_from_haze(haze: float) -> Lobe:
    """Return the lobe whose haze is `haze` (0..1). Above 0.998 the sheet is opal."""
    if haze <= 0.0:
        return Lobe(NARROWEST, 1.0)
    from scipy.optimize import brentq

    if haze >= lobe_haze(WIDEST):
        return OPAL
    # An ideal opal sheet still sends 0.19 % within 2.5 degrees, so haze can't come nearer to 1.
    if haze <= lobe_haze(NARROWEST * 10):
        return Lobe(NARROWEST * 10, 0.0)
    return Lobe(brentq(lambda s: lobe_haze(s) - haze, NARROWEST * 10, WIDEST, xtol=1e-12), 0.0)


def lobe_from_half_angle(half_angle_deg: float) -> Lobe:
    """Return the lobe whose intensity halves at `half_angle_deg`; from 60 degrees on: opal."""
    from scipy.optimize import brentq

    if half_angle_deg >= lobe_half_angle_deg(WIDEST):
        return OPAL
    sigma = brentq(
        lambda s: lobe_half_angle_deg(s) - half_angle_deg, NARROWEST * 10, WIDEST, xtol=1e-12
    )
    return Lobe(sigma, 0.0)


def lobe_from_both(haze: float, half_angle_deg: float) -> Lobe:
    """Return a lobe of the given half angle with as much direct light as brings the haze down.

    Raises ValueError where the lobe alone has less haze than asked for.
    """
    most = most_haze(half_angle_deg)
    if haze > most:
        raise ValueError(f"a lobe of this half angle has a haze of {most:.4f} at most")
    return Lobe(lobe_from_half_angle(half_angle_deg).sigma, 1.0 - haze / most)


def most_haze(half_angle_deg: float) -> float:
    """Return the haze of a sheet of this half angle that passes no light straight."""
    sigma = lobe_from_half_angle(half_angle_deg).sigma
    return OPAL_HAZE if sigma < 0.0 else lobe_haze(sigma)


def _density(sine: float, sigma: float) -> float:
    spread = 2.0 * sigma * sigma
    lobe = math.exp(-sine * sine / spread) / (math.pi * spread)
    lost = 1.0 - float(kept_share(0.0, sigma))
    if lost < 1e-12:
        return lobe
    returned = 1.0 - float(kept_share(sine * sine, sigma))
    return lobe + lost * returned / (math.pi * given_back_share(sigma))


def lobe_of(haze: float | None, half_angle_deg: float | None, opal: bool) -> Lobe:
    """Return the lobe of a sheet described by its haze, its half angle, both, or as opal."""
    if opal:
        return OPAL
    if haze is None:
        return lobe_from_half_angle(half_angle_deg or 0.0)
    if half_angle_deg is None:
        return lobe_from_haze(haze)
    return lobe_from_both(haze, half_angle_deg)
