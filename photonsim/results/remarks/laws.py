"""Laws that were mended: which results were made by a wrong one, told in a sentence each.

Whoever mends a law raises the version (photonsim/__init__.py, pyproject.toml) and adds an entry
here. A figure that is reckoned from the tallies needs none: it is right as soon as it is asked for.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, NamedTuple

from photonsim.results.result import Result
from photonsim.scene import Scene, SceneError, parse_scene

if TYPE_CHECKING:
    from photonsim.results.files.study_table import StudyTable


class Mended(NamedTuple):
    """A law that was wrong before `version`, in scenes that it `touches`; `wrong` says how."""

    version: str
    touches: Callable[[Scene], bool]
    wrong: str


MENDED = (
    Mended(
        "0.4.0",
        lambda scene: any(part.kind == "fresnel_lens" for part in scene.train.values()),
        "light that met the grooves of a Fresnel lens first was too strong, by up to 27 %",
    ),
)


def mended_since(version: str, scene: Scene) -> tuple[Mended, ...]:
    """Return the laws that have been mended since a version and that a scene obeys."""
    made = _numbers(version)
    return tuple(law for law in MENDED if made < _numbers(law.version) and law.touches(scene))


def outdated(result: Result) -> tuple[str, ...]:
    """Return a sentence for every law that has been mended since a result was made."""
    return tuple(
        f"{made_by(result)}, in which {law.wrong}: trace it anew (mended in {law.version})"
        for law in mended_since(result.run.program_version, result.scene)
    )


def outdated_study(table: StudyTable) -> tuple[str, ...]:
    """Return a sentence for every law that has been mended since a study was made.

    By the scene that it began with; a table without a scene that can be read tells of none.
    """
    try:
        scene = parse_scene(table.scene)
    except SceneError:
        return ()
    version = table.program_version or "0.3.0 or older"
    return tuple(
        f"made by photonsim {version}, in which {law.wrong}: make the study anew (mended in "
        f"{law.version})"
        for law in mended_since(table.program_version, scene)
    )


def made_by(result: Result) -> str:
    """Return in words which version made a result."""
    return f"made by photonsim {result.run.program_version or 'of unknown version'}"


def _numbers(version: str) -> tuple[int, ...]:
    """Return '0.3.0' as (0, 3, 0), by which versions are in order; () is the earliest of all."""
    return tuple(int(number) for number in re.findall(r"\d+", version)[:3])
