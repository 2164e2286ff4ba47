"""An LED as its data sheet describes it."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Annotated, Any, Self

from pydantic import Field, model_validator
from pydantic.functional_validators import ModelWrapValidatorHandler

from photonsim.scene.light import Wavelength, Weight
from photonsim.scene.mistakes import Mistake
from photonsim.scene.model import SceneModel
from photonsim.scene.packages import Package, typical_values
from photonsim.scene.quantities import FromList, NotVanishing

Milliamperes = Annotated[float, Field(ge=0.0, le=1.0e5)]
Volts = Annotated[float, Field(gt=0.0, le=400.0), NotVanishing]
Lumens = Annotated[float, Field(ge=0.0, le=1.0e6)]


class Led(SceneModel):
    """One LED, or one bar that is used as such, at a junction temperature of 25 °C.

    With a `package`, what its table leaves out is typical of that.

    >>> from photonsim import Led
    >>> Led(package="2835", current_ma=60, k_per_w=15).voltage_v  # typical
    3.0
    """

    package: Package | None = Field(
        default=None,
        description="the common package that it is one of, which gives typical values for the keys "
        "that are left out (default: none)",
    )
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

    @model_validator(mode="wrap")
    @classmethod
    def _with_typical_values(cls, given: Any, build: ModelWrapValidatorHandler[Self]) -> Self:
        typical = typical_values(given) if isinstance(given, dict) else {}
        led = build(given | typical if typical else given)
        # As defaults are: not written, and known by that.
        led.model_fields_set.difference_update(typical)
        return led

    @property
    def typical(self) -> dict[str, float]:
        """The values that are typical of the package and not this LED's own, by key."""
        if self.package is None:
            return {}
        return typical_values({key: getattr(self, key) for key in self.model_fields_set})

    def contradictions(self) -> Iterator[Mistake]:
        """Tables that don't fit, or a figure that is given twice or not at all."""
        yield from self._curve_mistakes()
        yield from self._flux_mistakes()
        yield from self._spectrum_mistakes()

    def _curve_mistakes(self) -> Iterator[Mistake]:
        by_slope, columns = ("voltage_v", "slope_ohm"), self.given("table_v", "table_lm")
        if self.table_ma is None:
            if self.given(*by_slope):
                yield from self.lacking(*by_slope)
            else:
                yield self.missing("voltage_v", "or give table_ma, table_v")
                yield self.missing("slope_ohm")
            for key, column in columns.items():
                yield Mistake(key, "has no table_ma beside it", column)
            return
        yield from self.beside("table_ma", "keep the table or this", *by_slope)
        yield from self.lacking("table_v")
        yield from _rising("table_ma", self.table_ma)
        for key, column in columns.items():
            yield from _as_many(key, column, "table_ma", self.table_ma)
        if self.table_v is not None:
            yield from _rising("table_v", self.table_v)

    def _flux_mistakes(self) -> Iterator[Mistake]:
        if self.table_lm is None:
            yield from self.lacking("flux_lm")
            return
        if self.table_ma is not None:
            yield from _rising("table_lm", self.table_lm)
        yield from self.beside("table_lm", "keep the table or this", "flux_lm")

    def _spectrum_mistakes(self) -> Iterator[Mistake]:
        if self.spectrum_nm is None or self.spectrum is None:
            if self.given("spectrum_nm", "spectrum"):
                yield from self.lacking("spectrum_nm", "spectrum")
            return
        yield from _rising("spectrum_nm", self.spectrum_nm)
        yield from _as_many("spectrum", self.spectrum, "spectrum_nm", self.spectrum_nm)
        if sum(self.spectrum) <= 0.0:
            yield Mistake("spectrum", "at least one value must be more than 0")
        if "efficacy_lm_per_w" in self.model_fields_set:
            other = "a spectrum, which gives the efficacy"
            yield from self.beside(other, "keep one", "efficacy_lm_per_w")


def _rising(key: str, values: tuple[float, ...]) -> Iterator[Mistake]:
    if any(before >= after for before, after in itertools.pairwise(values)):
        yield Mistake(key, "must rise from each value to the next", values)


def _as_many(
    key: str, values: tuple[float, ...], other: str, others: tuple[float, ...]
) -> Iterator[Mistake]:
    if len(values) != len(others):
        yield Mistake(key, f"must have one value for each of the {len(others)} in {other}", values)
