"""The result file: HDF5, also the checkpoint of a run; whole or not at all.

Written to a temporary name beside the target, sealed, flushed to disk, renamed. results/README.md
describes the format.
"""

from __future__ import annotations

import contextlib
import glob
import json
import math
from collections.abc import Iterator
from dataclasses import asdict
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from filelock import FileLock, Timeout
from pydantic import TypeAdapter

from photonsim.kernel.allotment import Guide, digest_of
from photonsim.kernel.tallies import EMISSION_CELLS
from photonsim.results.errors import ResultError
from photonsim.results.files.guarded_file import LONGEST_TEXT, Stored, opened
from photonsim.results.files.layout import (
    COUNTED,
    FORMAT_VERSION,
    as_in,
    axes_of,
    datasets_of,
    tallies_from,
)
from photonsim.results.files.seal import is_sealed, sealed
from photonsim.results.files.soundness import (
    refuse_unsound,
    refuse_unsound_guide,
    refuse_unsound_head,
)
from photonsim.results.files.writing import (
    errors_of_writing,
    replace_whole,
    say_kept,
    why_not_written,
)
from photonsim.results.tallies import PANEL_SUM_NAMES
from photonsim.results.traced import Run, Traced
from photonsim.scene import Scene, parse_scene
from photonsim.scene.loading import HDF5_SIGNATURE
from photonsim.scene.panel import MOST_PIXELS

# h5py takes 0.03 s of a start, and a trace that is not saved does without.
if TYPE_CHECKING:
    import h5py

FORMAT = "photonsim result"
# The panel's sums of the largest panel, and all else: batches, angles, spots.
MOST_BYTES = 8 * len(PANEL_SUM_NAMES) * MOST_PIXELS + 100_000_000
# Numbers of a chunk that is packed at a time.
CHUNK = 4096
# Who lets go of a file at this moment is waited for, who traces into it is not.
PATIENCE_S = 0.3

_RUN: TypeAdapter[Run] = TypeAdapter(Run)
_LOST: TypeAdapter[list[int]] = TypeAdapter(list[int])


def save_traced(result: Traced, path: str | PathLike[str], told: bool = False) -> None:
    """Write what a run counted; an existing file is replaced only by a complete new one.

    A result of other photons that lies there moves to the folder `earlier`, and a line says so
    unless that was `told` already. Raises ResultError where the place cannot be written or holds
    something that is not a result.
    """
    target = Path(path)
    refuse_foreign(target)
    content = sealed(_content(result), FORMAT)
    with errors_of_writing(target, "; what was saved before is untouched"):
        there = photons_there(target, result)
        # An earlier state of a result is in it, all else is kept.
        keep = target.exists() and (there is None or there > result.photons)
        kept = replace_whole(target, content, keep=keep)
    if kept and not told:
        say_kept(target, kept)


def make_ready_to_save() -> None:
    """Have done beforehand, where there is time, what the first save would take longer for."""
    import h5py  # noqa: F401


def photons_there(where: str | PathLike[str], result: Traced) -> int | None:
    """Return the photons of the sound result at a place, if they are those of a result.

    Runs of the same seed, version, guide and program trace the same photons, as far as both go;
    where no program was noted, runs of the same lamp.
    """
    run = result.run
    try:
        with opened(Path(where), FORMAT, FORMAT_VERSION, MOST_BYTES) as stored:
            scene, made, photons = _head(stored)
            found = made.seed, made.program_version, digest_of(_guide(stored))
    except ResultError:
        return None
    if found != (run.seed, run.program_version, result.guide_digest):
        return None
    noted = made.program and run.program
    same = made.program == run.program if noted else scene.is_same_lamp(result.scene)
    return photons if same else None


def _content(result: Traced) -> bytes:
    """Return the file that a result makes, made in memory: there no disk can be full."""
    import h5py

    # No cache of chunks: each is written whole and once.
    with h5py.File("result", "w", driver="core", backing_store=False, rdcc_nbytes=0) as file:
        _write(file, result)
        file.flush()
        return file.id.get_file_image()


@contextlib.contextmanager
def sole_writer(path: str | PathLike[str]) -> Iterator[None]:
    """Hold a result file for one process while it is traced into, and sweep up after killed ones.

    The lock is the system's on a file beside the target, so it ends with the process that holds
    it, however that ends. Raises ResultError where another process holds it.
    """
    target = Path(path)
    lock_file = target.with_name(f".{target.name}.lock")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with FileLock(lock_file, timeout=PATIENCE_S):
            for left_over in target.parent.glob(f".{glob.escape(target.name)}.*.part"):
                left_over.unlink(missing_ok=True)
            try:
                yield
            finally:
                # While it is held: who opened it meanwhile finds, having locked it, that it has no
                # name any more, and tries anew. Windows allows this to nobody but the library.
                with contextlib.suppress(OSError):
                    lock_file.unlink(missing_ok=True)
    except Timeout:
        raise ResultError(
            f"{target}: another photonsim is tracing into this file; wait for it, or choose "
            "another folder with --out"
        ) from None
    except OSError as error:
        why = why_not_written(error, target)
        raise ResultError(f"{target}: cannot be written ({why})") from None


def refuse_foreign(where: str | PathLike[str]) -> None:
    """Raise ResultError where a path holds something that is not a photonsim result."""
    path = Path(where)
    if not path.exists():
        return
    if not path.is_file():
        kind = "a folder" if path.is_dir() else "no ordinary file"
        raise ResultError(f"{path}: is {kind}; give a file name for the result")
    try:
        ours = is_sealed(path, FORMAT)
    except OSError as error:
        raise ResultError(f"{path}: cannot be read ({error.strerror or error})") from None
    if not ours:
        raise ResultError(
            f"{path}: exists and is not a photonsim result; choose another name or remove it"
        )


def is_hdf5(path: str | PathLike[str]) -> bool:
    """Tell whether a file begins as every HDF5 file does."""
    if not Path(path).is_file():  # a pipe would be waited for without end
        return False
    try:
        with open(path, "rb") as file:
            return file.read(len(HDF5_SIGNATURE)) == HDF5_SIGNATURE
    except OSError:
        return False


def load_traced(path: str | PathLike[str]) -> Traced:
    """Read a result file. Raises ResultError with one sentence where it is not a sound one."""
    with opened(Path(path), FORMAT, FORMAT_VERSION, MOST_BYTES) as stored:
        return _read(stored)


def _write(file: h5py.File, result: Traced) -> None:
    file.attrs["format"] = FORMAT
    file.attrs["format_version"] = FORMAT_VERSION
    file.attrs["program_version"] = result.run.program_version
    file.attrs["status"] = result.run.status
    file.attrs["title"] = result.scene.title
    _store_text(file, "scene", result.scene.text)
    _store_text(file, "run", json.dumps(asdict(result.run), sort_keys=True))
    _store_text(file, "lost_histories", json.dumps(result.tallies.lost))
    tallies = result.tallies
    # At the root, where general libraries look for the axes of every group.
    for name, (values, unit) in axes_of(result).items():
        scale = file.create_dataset(name, data=values)
        scale.make_scale(name)
        scale.attrs["units"] = unit
    groups = np.array([group.encode() for _, group in result.fate_names])
    _store(file, "fates/group", groups, ("fate",), "")
    _store(file, "batches/photons", tallies.batch_sizes(), ("batch",), "photons")
    for path, array, names, unit in datasets_of(tallies):
        _store(file, path, array, names, unit)
    if tallies.guide is not None:
        for name in ("collected", "doublings"):
            _store(file, f"guide/{name}", getattr(tallies.guide, name), ("emission_cell",), "1")
        for name in ("photons", "origin", "digest"):
            file["guide"].attrs[name] = getattr(tallies.guide, name)
    file.attrs["batch_photons"] = tallies.batch_photons
    file.attrs["photons"] = tallies.photons
    file.attrs["counts_version"] = tallies.counts_version


def _guide(stored: Stored) -> Guide | None:
    if "guide/collected" not in stored:
        return None
    guide = Guide(
        collected=stored.counts("guide/collected", (EMISSION_CELLS,)),
        photons=stored.whole_number("photons", "guide"),
        origin=stored.words_of("origin", "guide"),
    )
    refuse_unsound_guide(guide)
    there = stored.counts("guide/doublings", (EMISSION_CELLS,))
    if stored.words_of("digest", "guide") != guide.digest or (there != guide.doublings).any():
        raise ResultError("its guide is not what the guide's pilot counted")
    return guide


def _head(stored: Stored) -> tuple[Scene, Run, int]:
    """Return a result's scene, how it came about, and its photons."""
    scene = parse_scene(stored.text("scene"), "scene")
    run = _RUN.validate_json(stored.text("run"), strict=True)
    return scene, run, stored.whole_number("photons")


def _read(stored: Stored) -> Traced:
    scene, run, photons = _head(stored)
    batch_photons = stored.whole_number("batch_photons")
    names = stored.words("fate")
    fates = tuple(zip(names, stored.words("fates/group", len(names)), strict=True))
    refuse_unsound_head(scene, run, fates, photons, batch_photons)
    version = stored.whole_number("format_version")
    counts_version = 1 if version == 1 else stored.whole_number("counts_version")
    if counts_version not in COUNTED:
        raise ResultError(f"counts of a version {counts_version}")
    traced = Traced(
        scene=scene,
        run=run,
        fate_names=fates,
        tallies=tallies_from(
            as_in(version, stored.counts),
            counts_version,
            scene,
            len(fates),
            photons=photons,
            batch_photons=batch_photons,
            lost=_LOST.validate_json(stored.text("lost_histories"), strict=True),
            guide=_guide(stored),
        ),
    )
    refuse_unsound(traced)
    return traced


def _store(file: h5py.File, name: str, array: Any, axes: tuple[str, ...], unit: str) -> None:
    # Counts are packed to the bits that they need, chunk by chunk. On a panel of 1920 x 1080 that
    # is smaller than deflated data (28 against 37 MB) and takes a fifth of the time (0.3 of 1.7 s).
    packed: dict[str, Any] = {}
    if array.dtype.kind == "i" and array.size:
        packed = {"scaleoffset": 0, "chunks": _in_a_row(array.shape)}
    dataset = file.create_dataset(name, data=array, **packed)
    dataset.attrs["units"] = unit
    for k, axis in enumerate(axes):
        dataset.dims[k].attach_scale(file[axis])
        dataset.dims[k].label = axis


def _in_a_row(shape: tuple[int, ...]) -> tuple[int, ...]:
    """Return the shape of a chunk of numbers that lie in a row: they are gathered fastest."""
    rest = [math.prod(shape[axis + 1 :]) for axis in range(len(shape))]
    return tuple(min(n, max(1, CHUNK // below)) for n, below in zip(shape, rest, strict=True))


def _store_text(file: h5py.File, name: str, text: str) -> None:
    import h5py

    data = text.encode()
    if len(data) > LONGEST_TEXT:
        raise ResultError(f"the {name} is longer than {LONGEST_TEXT} bytes")
    # Fixed length, in place: text of variable length would lie in a heap of its own.
    kind = h5py.string_dtype("utf-8", max(len(data), 1))
    file.create_dataset(name, data=np.array(data, dtype=kind))
