"""Where designs come from as people name them: files, variants in them, folders of either."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from os import PathLike
from pathlib import Path

from photonsim.results.errors import ResultError
from photonsim.results.files.file import is_hdf5
from photonsim.results.files.seal import is_sealed
from photonsim.results.result import Result, load_result
from photonsim.scene import Scene, file_and_variant, load_scene

SCENES, RESULTS = "*.toml", "*.h5"
WORDS = {SCENES: "scene files (*.toml)", RESULTS: "results (*.h5)"}


@dataclass(frozen=True)
class Source:
    """Where a design comes from: a file, and the variant in it if it is one."""

    file: Path
    variant: str = ""

    @property
    def stem(self) -> str:
        """What files made of it are named after."""
        return f"{self.file.stem}.{self.variant}" if self.variant else self.file.stem

    def __str__(self) -> str:
        return f"{self.file}:{self.variant}" if self.variant else str(self.file)


def sources_of(
    names: Iterable[str], patterns: tuple[str, ...] = (SCENES, RESULTS)
) -> Iterator[Source]:
    """Yield the files that names stand for: a folder for those of the first pattern that it has.

    Raises ResultError for a folder without any.
    """
    for source in (Source(*file_and_variant(name)) for name in names):
        if not source.file.is_dir():
            yield source
            continue
        if source.variant:
            raise ResultError(f"{source}: is of a folder; name the file that has the variant")
        found = (sorted(source.file.glob(pattern)) for pattern in patterns)
        inside = next(filter(None, map(list, map(_no_tables, found))), [])
        if not inside:
            words = " and no ".join(WORDS[pattern] for pattern in patterns)
            raise ResultError(f"{source}: there are no {words} in this folder")
        yield from map(Source, inside)


def load_design(path: str | PathLike[str]) -> Scene | Result:
    """Return the scene or result of a file. Raises SceneError, ResultError."""
    return load_result(path) if is_hdf5(path) else load_scene(path)


def _no_tables(paths: list[Path]) -> Iterator[Path]:
    """Yield all but the tables of studies, which lie in folders beside results."""
    from photonsim.results.files.table_file import FORMAT

    for path in paths:
        if not (is_hdf5(path) and is_sealed(path, FORMAT)):
            yield path
