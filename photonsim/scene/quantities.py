"""The kinds of number that a scene is written in, with the ranges that all parts share."""

from typing import Annotated

from pydantic import Field, Strict

# 100 m in every direction is far beyond any room, and keeps single precision fit for the kernel.
LONGEST_MM = 1.0e5

Position = Annotated[float, Field(ge=-LONGEST_MM, le=LONGEST_MM)]
Height = Annotated[float, Field(ge=0.0, le=LONGEST_MM)]
Length = Annotated[float, Field(gt=0.0, le=LONGEST_MM)]
Share = Annotated[float, Field(ge=0.0, le=1.0)]
ShareBelowOne = Annotated[float, Field(ge=0.0, lt=1.0)]
ShareAboveZero = Annotated[float, Field(gt=0.0, le=1.0)]
RefractiveIndex = Annotated[float, Field(ge=1.2, le=2.5)]
# From the heaviest flint (about 18) to fluorite (95).
AbbeNumber = Annotated[float, Field(ge=15.0, le=120.0)]
Conic = Annotated[float, Field(ge=-1.0e3, le=1.0e3)]

# TOML has lists where a frozen model has tuples: this is the one conversion that is not strict.
FromList = Strict(False)
