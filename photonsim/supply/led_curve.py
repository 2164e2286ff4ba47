"""What an LED takes and gives: forward voltage and flux against current and temperature."""

from __future__ import annotations

import numpy as np

from photonsim.scene import Led
from photonsim.supply.photometry import blue_watts_per_lumen, efficacy_of_radiation

# Data sheets give voltage and flux at this junction temperature.
SHEET_C = 25.0
# Watts of blue-weighted light per lumen of the bluest common white LEDs, some 6500 K, where no
# spectrum is given (from memory, 0.3e-3 for warm to 1e-3 for cool white).
COOL_WHITE_BLUE_W_PER_LM = 1.0e-3


def forward_voltage(led: Led, current_a: float, junction_c: float, shift_v: float = 0.0) -> float:
    """Return the forward voltage in volts at a current in amperes.

    Linear in the current about the data sheet's point or between the points of its table, which is
    prolonged by its end lines; linear in the temperature (V. K. Khanna, Fundamentals of
    Solid-State Lighting, ch. 14). `shift_v` is by how much the LED's bin is off.
    """
    if led.table_ma is None or led.table_v is None:
        rated_v, slope_ohm = led.voltage_v or 0.0, led.slope_ohm or 0.0
        at_25 = rated_v + slope_ohm * (current_a - 1e-3 * led.current_ma)
    else:
        at_25 = _along(1e3 * current_a, led.table_ma, led.table_v)
    return at_25 + led.voltage_per_k * (junction_c - SHEET_C) + shift_v


def flux(led: Led, current_a: float, junction_c: float) -> float:
    """Return the luminous flux in lumens at a current in amperes; 0 for a dark LED.

    The table's, or a power law about the data sheet's point; linear in the temperature.
    """
    if current_a <= 0.0:
        return 0.0
    if led.table_ma is None or led.table_lm is None:
        at_25 = (led.flux_lm or 0.0) * (1e3 * current_a / led.current_ma) ** led.flux_exponent
    else:
        at_25 = max(0.0, _along(1e3 * current_a, led.table_ma, led.table_lm))
    return at_25 * max(0.0, 1.0 + led.flux_per_k * (junction_c - SHEET_C))


def efficacy(led: Led) -> float:
    """Return the lumens per watt of light, from the spectrum where there is one."""
    if led.spectrum_nm is None or led.spectrum is None:
        return led.efficacy_lm_per_w
    return efficacy_of_radiation(led.spectrum_nm, led.spectrum)


def blue_w_per_lm(led: Led) -> float:
    """Return the blue-weighted watts per lumen, from the spectrum where there is one."""
    if led.spectrum_nm is None or led.spectrum is None:
        return COOL_WHITE_BLUE_W_PER_LM
    return blue_watts_per_lumen(led.spectrum_nm, led.spectrum)


def _along(x: float, xs: tuple[float, ...], ys: tuple[float, ...]) -> float:
    """Return y at x on a line through points, prolonged beyond both ends."""
    place = int(np.clip(np.searchsorted(xs, x), 1, len(xs) - 1))
    slope = (ys[place] - ys[place - 1]) / (xs[place] - xs[place - 1])
    return ys[place] + slope * (x - xs[place])
