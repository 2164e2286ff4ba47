"""photonsim: what a home-built projector's lamp sends through the objective, before it is cut.

    >>> import photonsim
    >>> scene = photonsim.load_scene("scenes/d_split_film.toml")
    >>> result = photonsim.trace(scene, photons=1e6)
    >>> print(result.estimate("collected fraction").text(100, "%"))
    2.1310 ± 0.0043 %

Wherever a lamp is asked for it may be a Scene, a Result, or the path of a file of either. What is
wrong is told in a sentence, by SceneError or ResultError. The functions in `photonsim.figures`
return matplotlib figures. All is imported on first use, so that `photonsim --help` starts at once.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from photonsim.version import __version__

if TYPE_CHECKING:
    from photonsim import figures
    from photonsim.engine import sample_paths, trace
    from photonsim.engine.cluster import Cluster, trace_on_cluster
    from photonsim.public.answer import answer
    from photonsim.public.designs import check, compare, save_scene, write_report
    from photonsim.public.searches import fit, race, sweep, tolerance, tune
    from photonsim.public.workshop import cutting_plan, supply_plan
    from photonsim.results import (
        FIGURES,
        Estimate,
        LabelledArray,
        Result,
        ResultError,
        load_result,
    )
    from photonsim.results.files.study_table import StudyTable
    from photonsim.results.files.table_file import load_table, save_table
    from photonsim.scene import (
        AbsorbingPolariser,
        ApertureStop,
        Base,
        Box,
        ClearPlate,
        Diffuser,
        Dots,
        Emitter,
        FresnelLens,
        HeatSink,
        Housing,
        IdealLens,
        Led,
        Light,
        LightPlate,
        Panel,
        PrismFilm,
        RealLens,
        ReflectivePolariser,
        Reflector,
        RelativeTransmittance,
        Scene,
        SceneError,
        Screen,
        Strips,
        Supply,
        Walls,
        load_scene,
        parse_scene,
    )
    from photonsim.studies.comparing.compare import Comparison
    from photonsim.studies.comparing.race import RaceOutcome
    from photonsim.studies.fitting.fit import Fit
    from photonsim.studies.tune import Tuning
    from photonsim.supply.plan import SupplyPlan
    from photonsim.workshop.cutting import CuttingPlan
    from photonsim.workshop.kitchen_lens import KitchenLens, kitchen_lens
    from photonsim.workshop.readings import Reading

__all__ = [
    "FIGURES",
    "AbsorbingPolariser",
    "ApertureStop",
    "Base",
    "Box",
    "ClearPlate",
    "Cluster",
    "Comparison",
    "CuttingPlan",
    "Diffuser",
    "Dots",
    "Emitter",
    "Estimate",
    "Fit",
    "FresnelLens",
    "HeatSink",
    "Housing",
    "IdealLens",
    "KitchenLens",
    "LabelledArray",
    "Led",
    "Light",
    "LightPlate",
    "Panel",
    "PrismFilm",
    "RaceOutcome",
    "Reading",
    "RealLens",
    "ReflectivePolariser",
    "Reflector",
    "RelativeTransmittance",
    "Result",
    "ResultError",
    "Scene",
    "SceneError",
    "Screen",
    "Strips",
    "StudyTable",
    "Supply",
    "SupplyPlan",
    "Tuning",
    "Walls",
    "__version__",
    "answer",
    "check",
    "compare",
    "cutting_plan",
    "figures",
    "fit",
    "kitchen_lens",
    "load_result",
    "load_scene",
    "load_table",
    "parse_scene",
    "race",
    "sample_paths",
    "save_scene",
    "save_table",
    "supply_plan",
    "sweep",
    "tolerance",
    "trace",
    "trace_on_cluster",
    "tune",
    "write_report",
]

# Where to look for a name, from what is light to what takes long to import.
_ROOMS = (
    "scene",
    "results",
    "engine",
    "public.designs",
    "public.searches",
    "public.workshop",
    "workshop.kitchen_lens",
    "public.answer",
    "engine.cluster",
    "results.files.table_file",
)


def __getattr__(name: str) -> Any:
    if name == "figures":
        return import_module("photonsim.figures")
    for room in _ROOMS if name in __all__ else ():
        found = getattr(import_module(f"photonsim.{room}"), name, None)
        if found is not None:
            return found
    raise AttributeError(f"module 'photonsim' has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__
