"""What a study or a plan comes to, in the words of the terminal."""

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
from photonsim.supply.plan import SupplyPlan
from photonsim.supply.plan_text import plan_text
from photonsim.workshop.cutting import CuttingPlan
from photonsim.workshop.kitchen_lens import KitchenLens, kitchen_text
from photonsim.workshop.parts_list import parts_text

Answered = (
    Comparison | StudyTable | RaceOutcome | Tuning | Fit | SupplyPlan | CuttingPlan | KitchenLens
)


def answer(found: Answered) -> str:
    """Return what a comparison, a study or a plan comes to, as its command prints it.

    Which design is best, by how much and how sure; whether it lies at an end of its range; what
    can't be built; what to measure carefully. Of a supply the plan with its cautions, of what is
    cut the parts list, of a lens its part as TOML. Raises TypeError for anything else.

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
        case SupplyPlan():
            return plan_text(found)
        case CuttingPlan():
            return parts_text(found)
        case KitchenLens():
            return kitchen_text(found)
    raise TypeError(
        f"there is no answer of {type(found).__name__}; give a comparison, a study or a plan"
    )
