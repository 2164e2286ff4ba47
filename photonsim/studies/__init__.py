"""Studies: many designs, one table."""

from photonsim.studies.comparing.compare import Comparison, Design, compare
