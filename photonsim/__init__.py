"""photonsim: what a home-built projector's lamp sends through the objective, before it is cut.

    import photonsim
    scene = photonsim.load_scene("scenes/e_mirror_walls.toml")
    result = photonsim.trace(scene, photons=1_000_000, seed=1)
    print(result.estimate("collected_fraction").text(100, "%"))

Everything is imported on first use, so that `photonsim --help` starts at once.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from photonsim.version import __version__

if TYPE_CHECKING:
    from photonsim.engine import trace
    from photonsim.results import Result, ResultError, load_result
    from photonsim.scene import Scene, SceneError, load_scene

_ROOMS = {
    "trace": "engine",
    "Result": "results",
    "ResultError": "results",
    "load_result": "results",
    "Scene": "scene",
    "SceneError": "scene",
    "load_scene": "scene",
}
__all__ = ["__version__", *_ROOMS]


def __getattr__(name: str) -> Any:
    if name not in _ROOMS:
        raise AttributeError(f"module 'photonsim' has no attribute {name!r}")
    return getattr(import_module(f"photonsim.{_ROOMS[name]}"), name)
