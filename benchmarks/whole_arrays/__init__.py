"""The same lamp traced with whole arrays in NumPy, as a competent user would write it.

Photons are columns of one double array. All that wait in one gap between two layers and go the same
way are moved together, so a part's physics is written once for an array and masks stay few; photons
that die are dropped at once. Of the figures a run of photonsim keeps this tracer keeps the ledger,
the events and two maps of the panel. It imports scenes, never the program or the kernel, and holds
what the bars-and-film scenes need: ValueError for anything else.
"""

from benchmarks.whole_arrays.lamp import ArrayLamp
from benchmarks.whole_arrays.photons import Counted

__all__ = ["ArrayLamp", "Counted"]
