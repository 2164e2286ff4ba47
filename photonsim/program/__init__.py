"""What the kernel sees: flat arrays and integer codes, built from a scene."""

from photonsim.program.build import build_program
from photonsim.program.compiled import Compiled
from photonsim.program.fates import Fate, fates_of
from photonsim.program.program import Program
