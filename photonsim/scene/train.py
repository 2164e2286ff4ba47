"""The kinds of part that an optical train is made of."""

from typing import Annotated, get_args

from pydantic import Field

from photonsim.scene.aperture_stop import ApertureStop
from photonsim.scene.clear_plate import ClearPlate
from photonsim.scene.diffuser import Diffuser
from photonsim.scene.fresnel_lens import FresnelLens
from photonsim.scene.ideal_lens import IdealLens
from photonsim.scene.panel import Panel
from photonsim.scene.part import Part
from photonsim.scene.prism_film import PrismFilm
from photonsim.scene.real_lens import RealLens

TrainPart = Annotated[
    Diffuser | PrismFilm | ClearPlate | Panel | IdealLens | RealLens | FresnelLens | ApertureStop,
    Field(discriminator="kind"),
]

PART_CLASSES: dict[str, type[Part]] = {
    part.model_fields["kind"].default: part for part in get_args(get_args(TrainPart)[0])
}
