"""An LED as its data sheet describes it."""

from __future__ import annotations

import itertools
from typing import Annotated

from pydantic import Field

from photonsim.scene.light import Wavelength, Weight
from photonsim.scene.mistakes import Mistake
from photonsim.scene.model import SceneModel
from photonsim.scene.quantities import FromList, NotVanishing

Milliamperes = Annotated[float, Field(ge=0.0, le=1.0e5)]
Volts = Annotated[float, Field(gt=0.0, le=400.0), NotVanishing]
Lumens = Annotated[float, Field(ge=0.0, le=1.0e6)]


class Led(SceneModel):
    """One LED, or one bar that is used as such, at a junction temperature of 25 °C."""

    current_ma: Annotated[float, Field(gt=0.0, le=1.0e5), NotVanishing] = Field(
        description="the current in mA at which the data sheet gives voltage and flux"
    )
    voltage_v: Volts | None = Field(
        default=None, description="the forward voltage in volts at that current"
    )
    slope_ohm: Annotated[float, Field(gt=0.0, le=1.0e5), NotVanishing] | None = Field(
        default=None,
        description="the differential resistance in ohms there: volts more per ampere more",
    )
    table_ma: Annotated[tuple[Milliamperes, ...], FromList] | None = Field(
        default=None,
        min_length=2,
        max_length=1000,
        description="rising currents in mA of a table read off the data sheet's curve",
    )
    table_v: Annotated[tuple[Volts, ...], FromList] | None = Field(
        default=None, max_length=1000, description="the forward voltage in volts at each"
    )
    table_lm: Annotated[tuple[Lumens, ...], FromList] | None = Field(
        default=None, max_length=1000, description="the luminous flux in lumens at each"
    )
    voltage_spread_v: Annotated[float, Field(ge=0.0, le=50.0)] = Field(
        default=0.1, description="the volts by which the outermost bins differ from the usual LED"
    )
    voltage_per_k: Annotated[float, Field(ge=-0.5, le=0.0)] = Field(
        default=-0.002, description="the change of the forward voltage per kelvin in volts"
    )
    flux_lm: Annotated[float, Field(gt=0.0, le=1.0e6), NotVanishing] | None = Field(
        default=None, description="the luminous flux in lumens at current_ma"
    )
    flux_exponent: Annotated[float, Field(gt=0.0, le=1.0), NotVanishing] = Field(
        default=0.9,
        description="the power with which the flux grows with the current; 1 is in proportion",
    )
    flux_per_k: Annotated[float, Field(ge=-0.02, le=0.0)] = Field(
        default=-0.002, description="the change of the flux per kelvin as a share"
    )
    k_per_w: Annotated[float, Field(ge=0.0, le=10_000.0)] = Field(
        description="the kelvin per watt of heat from junction to solder point of one LED"
    )
    limit_ma: Annotated[float, Field(gt=0.0, le=1.0e5), NotVanishing] | None = Field(
        default=None, description="the highest current in mA that the data sheet allows"
    )
    limit_c: Annotated[float, Field(ge=40.0, le=250.0)] = Field(
        default=110.0, description="the highest junction temperature in °C that it allows"
    )
    efficacy_lm_per_w: Annotated[float, Field(gt=0.0, le=683.0), NotVanishing] = Field(
        default=300.0,
        description="the lumens per watt of light, not of power; about 300 for white LEDs",
    )
    spectrum_nm: Annotated[tuple[Wavelength, ...], FromList] | None = Field(
        default=None,
        min_length=2,
        max_length=1000,
        description="rising wavelengths in nanometres of a spectrum, which gives the efficacy",
    )
    spectrum: Annotated[tuple[Weight, ...], FromList] | None = Field(
        default=None, max_length=1000, description="the power at each wavelength, in any scale"
    )

    def contradictions(self) -> list[Mistake]:
        """Tables that don't fit, or a figure that is given twice or not at all."""
        return [*self._curve_mistakes(), *self._flux_mistakes(), *self._spectrum_mistakes()]

    def _curve_mistakes(self) -> list[Mistake]:
        by_slope = {"voltage_v": self.voltage_v, "slope_ohm": self.slope_ohm}
        if self.table_ma is None:
            found = [self.missing(key) for key, value in by_slope.items() if value is None]
            if len(found) == 2:
                found[0] = Mistake(
                    "voltage_v", "missing", advice=f"{found[0].advice}; or give table_ma, table_v"
                )
            for key in ("table_v", "table_lm"):
                if getattr(self, key) is not None:
                    found.append(Mistake(key, "has no table_ma beside it", getattr(self, key)))
            return found
        found = [
            Mistake(key, "stands beside table_ma", value, "keep the table or this")
            for key, value in by_slope.items()
            if value is not None
        ]
        if self.table_v is None:
            found.append(self.missing("table_v"))
        found += _rising("table_ma", self.table_ma)
        for key in ("table_v", "table_lm"):
            column = getattr(self, key)
            if column is not None:
                found += _as_many(key, column, "table_ma", self.table_ma)
        if self.table_v is not None:
            found += _rising("table_v", self.table_v)
        return found

    def _flux_mistakes(self) -> list[Mistake]:
        if self.table_lm is None:
            return [self.missing("flux_lm")] if self.flux_lm is None else []
        found = [] if self.table_ma is None else _rising("table_lm", self.table_lm)
        if self.flux_lm is not None:
            problem = "stands beside table_lm"
            found.append(Mistake("flux_lm", problem, self.flux_lm, "keep the table or this"))
        return found

    def _spectrum_mistakes(self) -> list[Mistake]:
        if self.spectrum_nm is None or self.spectrum is None:
            pair = {"spectrum_nm": self.spectrum_nm, "spectrum": self.spectrum}
            given = [key for key, value in pair.items() if value is not None]
            return [self.missing(key) for key in pair if given and key not in given]
        found = _rising("spectrum_nm", self.spectrum_nm)
        found += _as_many("spectrum", self.spectrum, "spectrum_nm", self.spectrum_nm)
        if sum(self.spectrum) <= 0.0:
            found.append(Mistake("spectrum", "at least one value must be more than 0"))
        if "efficacy_lm_per_w" in self.model_fields_set:
            problem = "stands beside a spectrum, which gives the efficacy"
            found.append(Mistake("efficacy_lm_per_w", problem, self.efficacy_lm_per_w, "keep one"))
        return found


def _rising(key: str, values: tuple[float, ...]) -> list[Mistake]:
    if all(before < after for before, after in itertools.pairwise(values)):
        return []
    return [Mistake(key, "must rise from each value to the next", values)]


def _as_many(
    key: str, values: tuple[float, ...], other: str, others: tuple[float, ...]
) -> list[Mistake]:
    if len(values) == len(others):
        return []
    return [Mistake(key, f"must have one value for each of the {len(others)} in {other}", values)]
