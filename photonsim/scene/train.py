"""The kinds of part that an optical train is made of, as registered in kernel/codes.py, PARTS."""

from importlib import import_module
from typing import TYPE_CHECKING, Annotated, Union

from pydantic import Field

from photonsim.kernel import codes
from photonsim.scene.part import Part


def _class_of(kind: str) -> type[Part]:
    """Return the model of a kind of part: IdealLens of scene/ideal_lens.py for 'ideal_lens'.

    A kind without a file or a model fails here, when the program starts.
    """
    return getattr(import_module(f"photonsim.scene.{kind}"), kind.title().replace("_", ""))


PART_CLASSES = {kind.name: _class_of(kind.name) for kind in sorted(codes.PARTS)}

if TYPE_CHECKING:
    TrainPart = Part
else:
    TrainPart = Annotated[Union[tuple(PART_CLASSES.values())], Field(discriminator="kind")]  # noqa: UP007
