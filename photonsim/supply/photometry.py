"""Spectra: lumens from watts of light, and the weight of blue light for the eye."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from photonsim.arrays import Reals

# Lumens per watt at the peak of V: 683 at 555 nm (SI, the candela).
PEAK_LM_PER_W = 683.0

# V(lambda) every 5 nm from 380 to 780 nm, CIE 1924 (CIE 15:2004, table T.4).
V_FIRST_NM, V_STEP_NM = 380.0, 5.0
V_VALUES = (
    *(0.000039, 0.000064, 0.00012, 0.000217, 0.000396, 0.00064, 0.00121, 0.00218, 0.004, 0.0073),
    *(0.0116, 0.01684, 0.023, 0.0298, 0.038, 0.048, 0.06, 0.0739, 0.09098, 0.1126, 0.13902),
    *(0.1693, 0.20802, 0.2586, 0.323, 0.4073, 0.503, 0.6082, 0.71, 0.7932, 0.862, 0.91485, 0.954),
    *(0.9803, 0.99495, 1.0, 0.995, 0.9786, 0.952, 0.9154, 0.87, 0.8163, 0.757, 0.6949, 0.631),
    *(0.5668, 0.503, 0.4412, 0.381, 0.321, 0.265, 0.217, 0.175, 0.1382, 0.107, 0.0816, 0.061),
    *(0.04458, 0.032, 0.0232, 0.017, 0.01192, 0.00821, 0.005723, 0.004102, 0.002929, 0.002091),
    *(0.001484, 0.001047, 0.00074, 0.00052, 0.000361, 0.000249, 0.000172, 0.00012, 0.000085),
    *(0.00006, 0.000042, 0.00003, 0.000021, 0.000015),
)

# Blue-light hazard weight every 5 nm from 380 to 495 nm (IEC 62471:2006, table 4.2: from memory).
BLUE_VALUES = (
    *(0.01, 0.013, 0.025, 0.05, 0.1, 0.2, 0.4, 0.8, 0.9, 0.95, 0.98, 1.0, 1.0, 0.97, 0.94, 0.9),
    *(0.8, 0.7, 0.62, 0.55, 0.45, 0.4, 0.22, 0.16),
)


def v_lambda(wavelength_nm: Sequence[float] | Reals) -> Reals:
    """Return V, the relative sensitivity of the eye by day; linear between the table's values."""
    nodes = V_FIRST_NM + V_STEP_NM * np.arange(len(V_VALUES))
    return np.interp(np.asarray(wavelength_nm, dtype=float), nodes, V_VALUES, left=0.0, right=0.0)


def blue_weight(wavelength_nm: Sequence[float] | Reals) -> Reals:
    """Return the weight of the blue-light hazard, B, from 380 to 700 nm.

    From 500 nm on it is 10**((450 - nm) / 50), from 600 nm on 0.001 (IEC 62471:2006, table 4.2:
    from memory).
    """
    nm = np.asarray(wavelength_nm, dtype=float)
    nodes = V_FIRST_NM + V_STEP_NM * np.arange(len(BLUE_VALUES))
    short = np.interp(nm, [*nodes, 500.0], [*BLUE_VALUES, 0.1], left=0.0)
    falling = 10.0 ** ((450.0 - nm) / 50.0)
    weight: Reals = np.select(
        [nm < 500.0, nm < 600.0, nm <= 700.0], [short, falling, np.full_like(nm, 1.0e-3)], 0.0
    )
    return weight


def efficacy_of_radiation(wavelength_nm: Sequence[float], power: Sequence[float]) -> float:
    """Return the lumens per watt of light of a spectrum: 683 times its mean of V.

    Wavelengths rise; between them the power is linear. Light outside 380 to 780 nm counts as watts
    without lumens.
    """
    return PEAK_LM_PER_W * _mean_weight(wavelength_nm, power, v_lambda)


def blue_watts_per_lumen(wavelength_nm: Sequence[float], power: Sequence[float]) -> float:
    """Return the watts, weighted by the blue-light hazard, that come with a lumen of a spectrum."""
    blue = _mean_weight(wavelength_nm, power, blue_weight)
    return blue / efficacy_of_radiation(wavelength_nm, power)


def _mean_weight(wavelength_nm, power, weight) -> float:  # type: ignore[no-untyped-def]
    """Return the mean of a weight over a spectrum, both on a grid of 1 nm or finer."""
    nm = np.asarray(wavelength_nm, dtype=float)
    grid = np.union1d(np.arange(np.ceil(nm[0]), nm[-1]), nm)
    values = np.interp(grid, nm, power)
    return float(np.trapezoid(values * weight(grid), grid) / np.trapezoid(values, grid))
