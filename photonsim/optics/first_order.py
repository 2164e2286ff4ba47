"""Formulae of first-order optics and illumination. Lengths in mm, angles in degrees, air around.

Étendue is G = n² ∫∫ cos θ dω dA, in mm² sr, with n = 1.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

# Below this ratio of distance to pitch the emitters are separate spots and the series is long.
NEAREST_LATTICE = 0.1

# Beams narrower than this (half intensity at 7 degrees) overflow the series' Bessel functions.
NARROWEST_LATTICE = 100.0

# A half angle of 60 degrees gives a cosine power of 1 but for the last bits.
# A scene may ask for emitters of next to no light; their logarithms must still be numbers.
DARKEST = 1e-100
ROUNDING = 1.0e-9


def cone_share(half_angle_deg: float) -> float:
    """Share of a Lambertian element's light within a cone about its normal: sin² θ.

    (W. J. Smith, Modern Optical Engineering, 4th ed., eq. 12.7, divided by π N.)
    """
    return math.sin(math.radians(half_angle_deg)) ** 2


def cos4(angle_deg: float) -> float:
    """Light from an element at an angle off the axis, relative to one on it: cos⁴ φ.

    Fair for a stop that is small against its distance (Smith, eq. 12.9).
    """
    return math.cos(math.radians(angle_deg)) ** 4


def lambertian_etendue(area_mm2: float) -> float:
    """Étendue of a plane face into the half space: π A, in mm² sr (Smith, eq. 12.4)."""
    return math.pi * area_mm2


def facing_share(a: float, b: float) -> float:
    """Return the share of a Lambertian rectangle's light that meets its like right opposite.

    `a` and `b` are its sides over the distance (J. R. Howell, Catalog of Radiation Heat Transfer
    Configuration Factors, C-11; from memory).
    """
    wide, high = math.hypot(1.0, a), math.hypot(1.0, b)
    terms = (
        0.5 * math.log((wide * high) ** 2 / (1.0 + a * a + b * b)),
        a * high * math.atan(a / high) - a * math.atan(a),
        b * wide * math.atan(b / wide) - b * math.atan(b),
    )
    return 2.0 / (math.pi * a * b) * sum(terms)


@dataclass(frozen=True)
class Source:
    """Equal emitters with intensity cos^m: face area in mm², flux in lm (all of them), m."""

    area_mm2: float
    flux_lm: float
    exponent: float = 1.0

    @property
    def axis_luminance(self) -> float:
        """Luminance straight on in lm/(mm² sr): (m + 1) Φ / (2 π A), from I0 = (m + 1) Φ / 2 π."""
        luminance = (self.exponent + 1.0) * self.flux_lm / (2.0 * math.pi * self.area_mm2)
        return max(luminance, DARKEST)

    @property
    def peak_luminance(self) -> float:
        """Greatest luminance in lm/(mm² sr); without bound at grazing angles if m < 1."""
        return self.axis_luminance if self.exponent > 1.0 - ROUNDING else math.inf

    def brighter_than(self, luminance: float) -> tuple[float, float]:
        """Return (étendue in mm² sr, flux in lm) of the light above a luminance.

        The luminance goes as cos^(m-1) θ. Light within θ of the axis has the étendue π A sin² θ
        and the flux Φ (1 - cos^(m+1) θ), both by integration.
        """
        full, power = lambertian_etendue(self.area_mm2), self.exponent - 1.0
        distance = math.log(luminance / self.axis_luminance)
        if power == 0.0:
            return (full, self.flux_lm) if distance < 0.0 else (0.0, 0.0)
        cosine = math.exp(min(0.0, distance / power))
        etendue, flux = full * cosine**2, self.flux_lm * cosine ** (self.exponent + 1.0)
        return (full - etendue, self.flux_lm - flux) if power > 0.0 else (etendue, flux)


def brightest_flux(sources: Sequence[Source], etendue: float) -> float:
    """Return the most flux in lm that an étendue in mm² sr can take from sources.

    Passive optics only move light about in phase space, so no étendue G takes more than the
    brightest part of the sources of that étendue, unless light comes back to an emitter and adds to
    its own: Φ G / G_source for Lambertian ones, Φ [1 - (1 - G / π A)^((m+1)/2)] for cos^m with
    m >= 1. Derived from the conservation of étendue (R. Winston, J. C. Miñano, P. Benítez,
    Nonimaging Optics, ch. 2; from memory).
    """
    total = sum(lambertian_etendue(source.area_mm2) for source in sources)
    if etendue >= total:
        return sum(source.flux_lm for source in sources)
    levels = [math.log(source.axis_luminance) for source in sources]
    low, high = min(levels) - 100.0, max(levels) + 100.0
    for _ in range(80):  # halves 200 powers of e to less than rounding
        middle = 0.5 * (low + high)
        taken = sum(source.brighter_than(math.exp(middle))[0] for source in sources)
        low, high = (low, middle) if taken < etendue else (middle, high)
    luminance = math.exp(high)
    parts = [source.brighter_than(luminance) for source in sources]
    rest = etendue - sum(part for part, _ in parts)
    return sum(flux for _, flux in parts) + luminance * rest


def recycled_luminance(sources: Sequence[tuple[Source, float]]) -> float:
    """Return the most luminance in lm/(mm² sr) that returning light can build up.

    `sources` are pairs (source, reflectance of its face). On a face L <= L_own + R L_max, and no
    other passive surface adds light, so L_max <= max L_own / (1 - R). Derived; holds for faces that
    reflect reciprocally. Infinite for R = 1 or m < 1.
    """
    return max(
        source.peak_luminance / (1.0 - reflectance) if reflectance < 1.0 else math.inf
        for source, reflectance in sources
    )


def flattest_pitch(distance: float, exponent: float = 1.0) -> float:
    """Pitch of a 2 x 2 square of emitters for the flattest light on a plane at a distance.

    d0 = sqrt(4 / (m + 2)) z (I. Moreno, M. Avendaño-Alejo, R. Tzonchev, Appl. Opt. 45, 2265
    (2006); from memory). There cos^m multiplies an irradiance: for an intensity cos^n, m = n + 1,
    so a Lambertian emitter has d0 = z.
    """
    return distance * math.sqrt(4.0 / (exponent + 3.0))


def lattice_uniformity(
    pitch_x: float, pitch_y: float, distance: float, exponent: float = 1.0
) -> float:
    """Least over greatest illuminance on a plane above an endless lattice of point emitters.

    E = Σ h(2 π z sqrt((a/dx)² + (b/dy)²)) cos(2 π a x / dx) cos(2 π b y / dy) over all whole a, b,
    with h(u) = 2 (u/2)^ν K_ν(u) / Γ(ν), ν = (n + 1) / 2 for an intensity cos^n; the greatest lies
    over an emitter, the least in the middle of four (derived by Fourier transform; the Hankel pair
    is DLMF 10.22.46). Returns 0 closer than a tenth of the wider pitch, where emitters are spots,
    and for beams narrower than m = 100, which are spots at any distance that matters.
    """
    from scipy.special import gamma, kv  # 0.07 s, which `trace` would pay too

    spots = distance < NEAREST_LATTICE * max(pitch_x, pitch_y)
    if spots or exponent > NARROWEST_LATTICE:
        return 0.0
    # h(u) is below 1e-12 from u = 32 on for Lambertian emitters, from 90 on for m = 100.
    reach = (35.0 + 6.0 * math.sqrt(exponent)) / (2.0 * math.pi * distance)
    a = np.arange(-math.ceil(reach * pitch_x), math.ceil(reach * pitch_x) + 1)[:, None]
    b = np.arange(-math.ceil(reach * pitch_y), math.ceil(reach * pitch_y) + 1)[None, :]
    u = 2.0 * math.pi * distance * np.hypot(a / pitch_x, b / pitch_y)
    order = 0.5 * (exponent + 1.0)
    safe = np.where(u == 0.0, 1.0, u)
    h = np.where(u == 0.0, 1.0, 2.0 * (0.5 * safe) ** order * kv(order, safe) / gamma(order))
    signs = 1 - 2 * ((a + b) % 2)
    return max(0.0, float((h * signs).sum() / h.sum()))


@dataclass(frozen=True)
class FilmAngles:
    """What a prism film does across its ridges, which face the screen; degrees from the axis.

    `onset_deg`: light closer to the axis is turned back (0: none is). `straightened_deg`: light
    that leaves along the axis; None if none does.
    """

    onset_deg: float
    straightened_deg: float | None


def film_angles(index: float, apex_deg: float = 90.0) -> FilmAngles:
    """Angles of a prism film from Snell's law at its flat side and its facets, which are tilted by
    b = 90° - apex / 2.

    On-set: asin(n sin(b - asin(1/n))), where the facet stops reflecting totally. Straightened:
    asin(n sin(b - asin(sin b / n))). Derived; in the plane across the ridges.
    """
    tilt = math.radians(90.0 - 0.5 * apex_deg)
    onset = index * math.sin(max(0.0, tilt - math.asin(1.0 / index)))
    straight = index * math.sin(tilt - math.asin(math.sin(tilt) / index))
    return FilmAngles(
        onset_deg=math.degrees(math.asin(min(1.0, onset))),
        straightened_deg=math.degrees(math.asin(straight)) if straight < 1.0 else None,
    )
