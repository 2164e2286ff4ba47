"""Results: what a run counted, what it says about the lamp and how sure it is."""

from photonsim.kernel.allotment import EXACT_HISTORIES, SECTORS, Guide, digest_of, smoothed
from photonsim.results.errors import ResultError
from photonsim.results.estimate import Estimate
from photonsim.results.figure_names import figure_named
from photonsim.results.files.file import photons_there, refuse_foreign, sole_writer
from photonsim.results.labelled.array import LabelledArray
from photonsim.results.picture.screen import ScreenView, screen_of
from photonsim.results.registry import FIGURES, Figure, Shown, asked_by, shown_in
from photonsim.results.result import FateCount, Result, load_result, scene_of
from photonsim.results.tallies import MAPS, Tallies
from photonsim.results.traced import LightPath, Run
