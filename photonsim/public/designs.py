"""Designs as they are: checked, put side by side, written up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import starmap
from pathlib import Path

from photonsim.arrays import Whole
from photonsim.engine import sample_paths, trace
from photonsim.engine.pilot import Guiding, guides_of
from photonsim.public.given import Lamp, Lamps, Place, named, names, seed_of
from photonsim.results import Guide, Result, scene_of
from photonsim.results.files.study_table import StudyTable
from photonsim.results.files.writing import write_file
from photonsim.scene import Scene
from photonsim.studies.comparing.compare import Comparison, Design
from photonsim.studies.comparing.compare import compare as side_by_side


def check(scene: Lamp, photons: Whole = 1_000_000, threads: int | None = None) -> str:
    """Return what looks wrong with a lamp, and whether it makes a picture, in words.

    It is traced with `photons`, also where focus asks the objective to be. Raises SceneError,
    ResultError.

    >>> import photonsim
    >>> print(photonsim.check("scenes/d_split_film.toml", photons=1e5).splitlines()[0])
    1 warning:
    """
    from photonsim.summary.scene_summary import warnings_text
    from photonsim.summary.verdict import verdict_of
    from photonsim.summary.verdict_text import verdict_text

    lamp = scene_of(scene)
    (guide,) = guides_of([lamp], 1, threads=threads)
    verdict = verdict_of(lamp, lambda wanted: _traced(wanted, photons, 1, threads, guide))
    return f"{warnings_text(lamp, traced=True)}\n\n{verdict_text(verdict)}"


def compare(
    designs: Lamps,
    *,
    against: str = "first",
    figures: str | Sequence[str] = (),
    photons: Whole | None = None,
    seed: Whole = 1,
    guide: Guiding = "auto",
    threads: int | None = None,
) -> Comparison:
    """Put designs side by side, ranked by collected lumens, with errors on every difference.

    Scenes are traced with shared random numbers to `photons` (33,554,432 where none are given);
    results are taken as they are. A scene file stands for its lamp and that lamp's variants, a
    folder for the scenes in it, or else the results. `guide` is as in `trace`, with "auto" by what
    suits the first design. Labels are titles, or what tells them apart, or the keys of a mapping.
    Differences are taken `against` the "first" design or the "best". `figures` are shown besides
    the usual ones. Raises ResultError, SceneError.

    >>> import photonsim
    >>> lamps = ["scenes/a_bars.toml", "scenes/d_split_film.toml"]
    >>> photonsim.compare(lamps, photons=1e5).designs[0].label
    'Bars and film in strips'
    """
    found = _all_traced(named(designs), photons, seed, guide, threads)
    return side_by_side(list(starmap(Design, found.items())), against, names(figures))


def save_scene(scene: Lamp, path: Place) -> Path:
    """Write a scene to a file of its own, with the comments of the one it began with; return it.

    A file that is there is replaced if photonsim wrote it and nobody changed it since, else moved
    to the folder `earlier` beside it. Raises ResultError where the file can't be written.

    >>> import photonsim
    >>> scene = photonsim.load_scene("scenes/d_split_film.toml")
    >>> photonsim.save_scene(scene.with_numbers({"train.film.z_mm": 16}), "best.toml").name
    'best.toml'
    """
    target = Path(path)
    write_file(target, scene_of(scene).text.encode("utf-8"))
    return target


def write_report(
    designs: Lamps,
    folder: Place,
    *,
    studies: Sequence[StudyTable] = (),
    title: str = "",
    photons: Whole | None = None,
    seed: Whole = 1,
    guide: Guiding = "auto",
    threads: int | None = None,
) -> list[Path]:
    """Write designs up as one page to publish, and as Markdown with figures; return the files.

    Scenes are traced as in `compare`, those of files without their variants; `studies` are tables
    of sweeps and the like. Raises ResultError, also where the folder cannot be written to, and
    SceneError.

    >>> import photonsim
    >>> lamp = photonsim.trace("scenes/a_bars.toml", photons=1e4)
    >>> [path.name for path in photonsim.write_report([lamp], "write-up")[:2]]
    ['report.html', 'report.md']
    """
    from photonsim.report import compose, save_write_up

    lamps = named(designs, variants=False)
    found = _all_traced(lamps, photons, seed, guide, threads)
    write_up = compose(list(found.items()), sample_paths, studies, title)
    return save_write_up(write_up, Path(folder))


def _all_traced(
    lamps: Mapping[str, Scene | Result],
    photons: Whole | None,
    seed: Whole,
    guide: Guiding,
    threads: int | None,
) -> dict[str, Result]:
    """Return results by label: scenes traced, results as they are."""
    guides = guides_of(list(lamps.values()), seed_of(seed), guide, threads=threads)
    return {
        label: lamp if isinstance(lamp, Result) else _traced(lamp, photons, seed, threads, own)
        for (label, lamp), own in zip(lamps.items(), guides, strict=True)
    }


def _traced(
    scene: Scene, photons: Whole | None, seed: Whole, threads: int | None, guide: Guide | None
) -> Result:
    result = trace(scene, photons, seed, threads=threads, guide=guide)
    if not result.is_complete:
        raise KeyboardInterrupt(result.run.stopped_by)
    return result
