"""Results: what a run counted, what it says about the lamp and how sure it is."""

from photonsim.results.errors import ResultError
from photonsim.results.estimate import Estimate
from photonsim.results.files.file import photons_there, refuse_foreign, sole_writer
from photonsim.results.merit import FIGURES, Figure
from photonsim.results.picture.screen import ScreenView, screen_of
from photonsim.results.result import FateCount, Result, load_result
from photonsim.results.tallies import MAPS, Tallies
from photonsim.results.traced import LightPath, Run

__all__ = [
    "FIGURES",
    "MAPS",
    "Estimate",
    "FateCount",
    "Figure",
    "LightPath",
    "Result",
    "ResultError",
    "Run",
    "ScreenView",
    "Tallies",
    "load_result",
    "photons_there",
    "refuse_foreign",
    "screen_of",
    "sole_writer",
]
