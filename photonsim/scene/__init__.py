"""What the user writes: typed, frozen, validated models of a lamp, with TOML in and out.

Many files lie flat here: one file for each table of a scene file and each kind of part, by its
name, beside what reads, checks and writes them.
"""

from photonsim.scene.absorbing_polariser import AbsorbingPolariser
from photonsim.scene.aperture_stop import ApertureStop
from photonsim.scene.changes import changes, shortly
from photonsim.scene.clear_plate import ClearPlate
from photonsim.scene.diffuser import Diffuser
from photonsim.scene.emitters import Emitter
from photonsim.scene.fresnel_lens import FresnelLens
from photonsim.scene.housing import Base, Housing, Walls
from photonsim.scene.ideal_lens import IdealLens
from photonsim.scene.imaging import (
    LENSES,
    Bend,
    Cardinal,
    Projection,
    cardinal_of,
    follow,
)
from photonsim.scene.led import Led
from photonsim.scene.light import Light
from photonsim.scene.light_plate import Dots, LightPlate, Reflector
from photonsim.scene.lm63 import IntensityTable
from photonsim.scene.loading import file_and_variant, load_scene, parse_scene, validated
from photonsim.scene.materials import MATERIALS, index_at
from photonsim.scene.mistakes import Mistake, SceneError
from photonsim.scene.panel import Panel, RelativeTransmittance
from photonsim.scene.paths import is_whole, number_at, number_paths, unit_of
from photonsim.scene.plain_text import with_remark
from photonsim.scene.prism_film import PrismFilm
from photonsim.scene.real_lens import RealLens
from photonsim.scene.reflective_polariser import ReflectivePolariser
from photonsim.scene.scene import Scene, scene_from_dict
from photonsim.scene.screen import Screen
from photonsim.scene.strips import Strips
from photonsim.scene.supply import Box, HeatSink, Supply
from photonsim.scene.train import TrainPart
from photonsim.scene.unfinished import Unfinished
