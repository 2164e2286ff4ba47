"""The kinds of number that a scene is written in, with the ranges that all parts share."""

from typing import Annotated

from pydantic import AfterValidator, Field, Strict
from pydantic_core import PydanticKnownError

# 100 m in every direction is far beyond any room, and keeps single precision fit for the kernel.
LONGEST_MM = 1.0e5
# A picometre, a nanolumen, a filter of density 9: less than that is a slip of the pen, and its
# squares and ratios would come too near to the smallest that a computer knows.
SMALLEST = 1.0e-9


def _not_vanishing(value: float) -> float:
    # Not a limit of the field: -3 should be told that it must be greater than 0.
    if value < SMALLEST:
        raise PydanticKnownError("greater_than_equal", {"ge": SMALLEST})
    return value


NotVanishing = AfterValidator(_not_vanishing)


Position = Annotated[float, Field(ge=-LONGEST_MM, le=LONGEST_MM)]
Height = Annotated[float, Field(ge=0.0, le=LONGEST_MM)]
Length = Annotated[float, Field(gt=0.0, le=LONGEST_MM), NotVanishing]
Share = Annotated[float, Field(ge=0.0, le=1.0)]
ShareBelowOne = Annotated[float, Field(ge=0.0, lt=1.0)]
ShareAboveZero = Annotated[float, Field(gt=0.0, le=1.0), NotVanishing]
Flux = Annotated[float, Field(gt=0.0, le=1.0e6), NotVanishing]
HalfAngle = Annotated[float, Field(ge=0.5, le=75.0)]
RefractiveIndex = Annotated[float, Field(ge=1.2, le=2.5)]
# From the heaviest flint (about 18) to fluorite (95).
AbbeNumber = Annotated[float, Field(ge=15.0, le=120.0)]
Conic = Annotated[float, Field(ge=-1.0e3, le=1.0e3)]

# TOML has lists where a frozen model has tuples: this is the one conversion that is not strict.
FromList = Strict(False)
