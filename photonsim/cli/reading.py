"""What was named on the command line, read: scenes, variants, results, and folders of them."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from photonsim.cli.naming import Given, remark_of
from photonsim.cli.output import print_files, print_text, write_text
from photonsim.leaving import USER_MISTAKE

if TYPE_CHECKING:
    from photonsim.results import Result
    from photonsim.results.files.sources import Source
    from photonsim.scene import Scene

    Read = list[tuple[Source, Any]]


def read_scenes(given: Given, variants: bool = False, sound: bool = False) -> Read:
    """Return the scenes of files, results and folders; the mistakes of all are told at once.

    A file stands for its scene, and with `variants` for those too. With `sound`, the mistakes of
    variants that were not asked for are told as well.
    """
    from photonsim.scene import Scene

    found = [
        (source, design if isinstance(design, Scene) else design.scene)
        for source, design in _read(given, variants, sound)
    ]
    _write(given, found)
    return found


def read_designs(given: Given, variants: bool = False) -> Read:
    """Return scenes and results; a result of which something was set, or a variant, is a scene."""
    from photonsim.scene import Scene

    found = _read(given, variants)
    for source, design in found:
        if not isinstance(design, Scene):
            _refuse_empty(source.file, design)
    _write(given, [pair for pair in found if isinstance(pair[1], Scene)])
    return found


def read_scene(given: Given) -> tuple[Source, Scene]:
    """Return the one scene of a file, or of a folder that holds one."""
    from photonsim.results import ResultError

    found = read_scenes(given)
    if len(found) > 1:
        raise ResultError(f"{given.names[0]}: holds {len(found)} scenes; name the file of one")
    return found[0]


def read_results(names: Sequence[str]) -> list[tuple[Source, Result]]:
    """Return the results of files and folders."""
    from photonsim.results.files.sources import RESULTS, sources_of

    return [(source, read_result(source.file)) for source in sources_of(names, (RESULTS,))]


def read_result(path: Path) -> Result:
    """Return the result of a file, of which there is something to show."""
    from photonsim.results import ResultError, load_result

    if path.is_file() and path.suffix == ".toml":
        raise ResultError(
            f"{path}: is a scene, not a photonsim result; `photonsim trace {path}` makes one"
        )
    result = load_result(path)
    _refuse_empty(path, result)
    return result


def labelled(read: Read) -> dict[str, Any]:
    """Return designs by what they are called in one table: see words.labels."""
    from photonsim.scene import Scene
    from photonsim.words.escaping import visible
    from photonsim.words.labels import labels_of

    designs = [design for _, design in read]
    scenes = [design if isinstance(design, Scene) else design.scene for design in designs]
    # A title has no control characters, a file's name may.
    stems = [visible(source.stem, "") for source, _ in read]
    titles = [scene.title or stem for scene, stem in zip(scenes, stems, strict=True)]
    return dict(zip(labels_of(titles, stems), designs, strict=True))


def refuse_one_name(sources: Sequence[Source]) -> None:
    """Raise ResultError where two inputs would be written under one name, before any work.

    Names that differ in capitals alone are one name on many systems.
    """
    from photonsim.results import ResultError

    seen: dict[str, Source] = {}
    for source in sources:
        other = seen.setdefault(source.stem.casefold(), source)
        if other is not source:
            raise ResultError(
                f"{other} and {source}: both would be written as {source.stem}; rename one, or "
                "give each a command and a folder of its own"
            )


def _read(given: Given, variants: bool, sound: bool = False) -> Read:
    """Read all designs; print the mistakes of all scenes and leave where there are any."""
    from photonsim.results.files.sources import Source, load_design, sources_of
    from photonsim.scene import Scene, SceneError

    read: Read = []
    mistaken: list[SceneError] = []
    for source in sources_of(given.names):
        try:
            design = load_design(source.file)
        except SceneError as error:
            mistaken.append(error)
            continue
        more = []
        if isinstance(design, Scene) and not source.variant:
            more = list(design.variants)
        wanted = [source, *(Source(source.file, name) for name in more if variants)]
        for one in [*wanted, *(Source(source.file, name) for name in more if sound)]:
            try:
                changed = _changed(design, one, given if one in wanted else Given(given.names))
            except SceneError as error:
                mistaken.append(SceneError(error.mistakes, str(one)))
                continue
            if one in wanted:
                read.append((one, changed))
    for mistakes in mistaken:
        print_text(str(mistakes), err=True)
    if mistaken:
        sys.exit(USER_MISTAKE)
    return read


def _changed(design: Any, source: Source, given: Given) -> Any:
    """Return a design as it was meant: in the order file, variant, what was set."""
    from photonsim.scene import Scene, with_remark
    from photonsim.words.escaping import visible

    values = given.values
    if not (source.variant or values):
        return design
    scene: Scene = design if isinstance(design, Scene) else design.scene
    if source.variant:
        scene = scene.variant(source.variant)
    if not values:
        return scene
    if "title" not in values:
        # A file of its own names what was set in it.
        remark = visible(given.write.stem, "") if given.write else remark_of(given.values)
        values["title"] = with_remark(scene.title or source.stem, remark)
    return scene.with_numbers(values)


def _write(given: Given, found: Read) -> None:
    """Write the one scene that was asked for, with what was set, to a file of its own."""
    from photonsim.results import ResultError

    if given.write is None:
        return
    if len(found) != 1:
        raise ResultError(f"--write {given.write}: takes one scene, and here are {len(found)}")
    write_text(given.write, found[0][1].text)
    print_files([given.write])


def _refuse_empty(path: Path, result: Result) -> None:
    from photonsim.results import ResultError

    if not result.photons:
        raise ResultError(f"{path}: holds no photons, so there is nothing to show; trace it first")
