"""Typical values of common white LED packages, for whoever has no data sheet.

All are common practice, from memory: the middle of what makers give for white LEDs of the size, at
a junction temperature of 25 °C. LEDs of one size differ by a third in flux and by a few tenths of a
volt, so a plan made of them tells what to expect, not what will be.
"""

from __future__ import annotations

from typing import Any, Literal

Package = Literal["3528", "2835", "5050", "5730", "star_1w", "star_3w", "cob_10w"]
# In words: what each is.
DESCRIBED: dict[Package, str] = {
    "3528": "3.5 x 2.8 mm, 0.06 W, as on the oldest strips",
    "2835": "2.8 x 3.5 mm, 0.2 W, as on most bars and strips",
    "5050": "5.0 x 5.0 mm, 0.2 W, three chips taken as one LED",
    "5730": "5.7 x 3.0 mm, 0.5 W",
    "star_1w": "one emitter of 1 W on a star-shaped board",
    "star_3w": "one emitter of 3 W on a star-shaped board",
    "cob_10w": "chips on board under one phosphor, 10 W at about 9.5 V",
}
# The keys of [supply.led]: the point of the curve, its slope, heat, limits.
_KEYS = ("current_ma", "voltage_v", "slope_ohm", "flux_lm", "k_per_w", "limit_ma", "limit_c")
_VALUES: dict[str, tuple[float, ...]] = {
    "3528": (20.0, 3.1, 10.0, 7.0, 100.0, 30.0, 100.0),
    "2835": (60.0, 3.0, 3.5, 24.0, 20.0, 120.0, 110.0),
    "5050": (60.0, 3.1, 4.0, 19.0, 40.0, 90.0, 110.0),
    "5730": (150.0, 3.1, 1.5, 55.0, 15.0, 180.0, 110.0),
    "star_1w": (350.0, 3.2, 0.8, 110.0, 10.0, 400.0, 115.0),
    "star_3w": (700.0, 3.4, 0.5, 200.0, 8.0, 800.0, 115.0),
    "cob_10w": (900.0, 9.5, 1.2, 900.0, 2.0, 1000.0, 115.0),
}
# With which the flux grows with the current, where the scene says nothing else: as Led's default.
EXPONENT = 0.9


def typical_values(table: dict[str, Any]) -> dict[str, float]:
    """Return the typical values that a table of an LED leaves to its package, by key.

    At another current than the package's usual one, voltage and flux follow its curve there. Where
    the table has a curve of its own, none of the package's is taken.
    """
    values = _VALUES.get(str(table.get("package")))
    if values is None:
        return {}
    found = dict(zip(_KEYS, values, strict=True))
    usual, asked = found["current_ma"], table.get("current_ma")
    if isinstance(asked, int | float) and asked > 0.0:
        exponent = table.get("flux_exponent", EXPONENT)
        if isinstance(exponent, int | float):
            found["flux_lm"] *= (asked / usual) ** exponent
        found["voltage_v"] += found["slope_ohm"] * 1e-3 * (asked - usual)
    if table.get("table_ma") is not None:
        del found["voltage_v"], found["slope_ohm"]
    if table.get("table_lm") is not None:
        del found["flux_lm"]
    # 2.8649999999999998 is no voltage that anyone would write.
    return {key: float(f"{value:.4g}") for key, value in found.items() if key not in table}
