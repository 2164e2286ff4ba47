"""What a study comes to, in the words of the terminal."""

from __future__ import annotations

from photonsim.results.files.study_table import StudyTable
from photonsim.studies.comparing import race, tables
from photonsim.studies.comparing.compare import Comparison
from photonsim.studies.comparing.race import RaceOutcome
from photonsim.studies.fitting import fit_tables
from photonsim.studies.fitting.fit import Fit
from photonsim.studies.outcomes import front_outcome, sweep_outcome, tune_outcome
from photonsim.studies.tolerance import as_text
from photonsim.studies.tune import Tuning


def answer(found: Comparison | StudyTable | RaceOutcome | Tuning | Fit) -> str:
    """Return what a comparison or a study comes to, as its command prints it.

    Which design is best, by how much and how sure; whether it lies at an end of its range; what
    can't be built; what to measure carefully. Raises TypeError for anything else.

    >>> import photonsim
    >>> heights = {"train.film.z_mm": [10, 14]}
    >>> table = photonsim.sweep("scenes/d_split_film.toml", heights, photons=1e5)
    >>> photonsim.answer(table).splitlines()[-2][:14]
    'Over 2 designs'
    """
    match found:
        case Comparison():
            return tables.as_text(found)
        case RaceOutcome():
            return race.as_text(found)
        case Fit():
            return fit_tables.as_text(found)
        case Tuning(search=search, table=table) if len(search.goals) > 1:
            return front_outcome(table, search)
        case Tuning():
            return tune_outcome(found.table, found.search, found.winner)
        case StudyTable(kind="tolerance"):
            return as_text(found)
        case StudyTable(kind="sweep"):
            return sweep_outcome(found)
    raise TypeError(f"there is no answer of {type(found).__name__}; give a comparison or a study")
