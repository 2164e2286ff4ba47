"""The result file: HDF5, also the checkpoint of a run; whole or not at all.

Written to a temporary name beside the target, sealed, flushed to disk, renamed. DEVELOPERS.md
describes the format.
"""

from __future__ import annotations

import contextlib
import glob
import json
from collections.abc import Iterator
from dataclasses import asdict
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from filelock import FileLock, Timeout
from pydantic import TypeAdapter

from photonsim.results.errors import ResultError
from photonsim.results.guarded_file import LONGEST_TEXT, Stored, opened
from photonsim.results.result import Result, Run
from photonsim.results.seal import is_sealed, sealed
from photonsim.results.soundness import refuse_unsound, refuse_unsound_head, shapes_of
from photonsim.results.tallies import PANEL_SUM_NAMES, Tallies
from photonsim.results.writing import replace_whole, told_as
from photonsim.scene import Scene, parse_scene
from photonsim.scene.panel import MOST_PIXELS

# h5py takes 0.03 s of a start, and a trace that is not saved does without.
if TYPE_CHECKING:
    import h5py

FORMAT = "photonsim result"
FORMAT_VERSION = 1
# The panel's sums of the largest panel, and all else: batches, angles, spots.
MOST_BYTES = 8 * len(PANEL_SUM_NAMES) * MOST_PIXELS + 100_000_000
# Who lets go of a file at this moment is waited for, who traces into it is not.
PATIENCE_S = 0.3

_RUN: TypeAdapter[Run] = TypeAdapter(Run)
_LOST: TypeAdapter[list[int]] = TypeAdapter(list[int])

BATCH_AXES = {
    "incident": (),
    "collected": (),
    "direction_sums": ("direction_sum",),
    "events": (),
    "cells": ("light", "cell_y", "cell_x"),
    "profile_x": ("light", "profile_x_mm"),
    "profile_y": ("light", "profile_y_mm"),
    "polar": ("light", "polar_deg"),
    "plane_x": ("light", "plane_deg"),
    "plane_y": ("light", "plane_deg"),
    "screen": ("screen_sum", "cell_y", "cell_x"),
    "colours": ("colour", "colour_sum", "cell_y", "cell_x"),
    "rings": ("ring", "ring_sum", "cell_y", "cell_x"),
    "fates": ("fate",),
}
SPOT_AXES = ("cell_y", "cell_x", "spot_level", "spot_y", "spot_x")
STOP_AXES = ("cell_y", "cell_x", "stop_y_mm", "stop_x_mm", "stop_sum")
NO_SPOTS = np.zeros((0, 0, 5, 32, 32), dtype=np.int64)
NO_STOP_SUMS = np.zeros((0, 0, 16, 16, 5), dtype=np.int64)


def save_result(result: Result, path: str | PathLike[str]) -> None:
    """Write a result; an existing file is replaced only by a complete new one.

    A result of other numbers that lies there moves to the folder `earlier`. Raises ResultError
    where the place cannot be written or holds something that is not a result.
    """
    target = Path(path)
    refuse_foreign(target)
    content = sealed(_content(result), FORMAT)
    with told_as(target, "; what was saved before is untouched"):
        replace_whole(target, content, keep=not _is_continued(target, result))


def _is_continued(target: Path, result: Result) -> bool:
    """Tell whether nothing lies at a place but what a result has in it: an earlier state of it."""
    if not target.exists():
        return True
    there = photons_there(target, result.scene, result.seed, result.run.program_version)
    return there is not None and there <= result.photons


def photons_there(
    where: str | PathLike[str], scene: Scene, seed: int, program_version: str
) -> int | None:
    """Return the photons of the sound result at a place, if it is of these very numbers."""
    try:
        with opened(Path(where), FORMAT, FORMAT_VERSION, MOST_BYTES) as stored:
            found, run, photons = _head(stored)
    except ResultError:
        return None
    same = (run.seed, run.program_version) == (seed, program_version)
    return photons if same and found.is_same_lamp(scene) else None


def _content(result: Result) -> bytes:
    """Return the file that a result makes, made in memory: there no disk can be full."""
    import h5py

    with h5py.File("result", "w", driver="core", backing_store=False) as file:
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
        raise ResultError(f"{target}: cannot be written ({error.strerror or error})") from None


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


def load_result(path: str | PathLike[str]) -> Result:
    """Read a result file. Raises ResultError with one sentence where it is not a sound one."""
    with opened(Path(path), FORMAT, FORMAT_VERSION, MOST_BYTES) as stored:
        return _read(stored)


def _write(file: h5py.File, result: Result) -> None:
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
    axes = _axes(result)
    for name, (values, unit) in axes.items():
        scale = file.create_dataset(name, data=values)
        scale.make_scale(name)
        scale.attrs["units"] = unit
    _store(
        file,
        "fates/group",
        np.array([group.encode() for _, group in result.fate_names]),
        axes,
        ("fate",),
        "",
    )
    _store(file, "batches/photons", tallies.batch_sizes(), axes, ("batch",), "photons")
    for name, array in tallies.batches.items():
        _store(file, f"batches/{name}", array, axes, ("batch", *BATCH_AXES[name]), "photons")
    for k, name in enumerate(PANEL_SUM_NAMES):
        unit = "photons" if k < 2 else "photons * 2**20"
        _store(file, f"panel/{name}", tallies.panel[:, :, k], axes, ("y_mm", "x_mm"), unit)
    _store(file, "angles/directions", tallies.directions, axes, ("v", "u"), "photons")
    _store(file, "pupil/photons", tallies.pupil, axes, ("pupil_y_mm", "pupil_x_mm"), "photons")
    if tallies.spots.size:
        _store(file, "screen/spots", tallies.spots, axes, SPOT_AXES, "photons")
        _store(file, "screen/stop_sums", tallies.stop_sums, axes, STOP_AXES, "photons")
    file.attrs["batch_photons"] = tallies.batch_photons
    file.attrs["photons"] = tallies.photons


def _head(stored: Stored) -> tuple[Scene, Run, int]:
    """Return a result's scene, how it came about, and its photons."""
    scene = parse_scene(stored.text("scene"), "scene")
    run = _RUN.validate_json(stored.text("run"), strict=True)
    return scene, run, stored.whole_number("photons")


def _read(stored: Stored) -> Result:
    scene, run, photons = _head(stored)
    batch_photons = stored.whole_number("batch_photons")
    names = stored.words("fate")
    fates = tuple(zip(names, stored.words("fates/group", len(names)), strict=True))
    refuse_unsound_head(scene, run, fates, photons, batch_photons)
    shapes = shapes_of(scene, len(fates), -(-photons // batch_photons))

    def array(name: str) -> Any:
        return stored.counts(name, shapes[name])

    with_screen = scene.screen is not None
    result = Result(
        scene=scene,
        run=run,
        fate_names=fates,
        tallies=Tallies(
            photons=photons,
            batch_photons=batch_photons,
            batches={name: array(f"batches/{name}") for name in BATCH_AXES},
            panel=np.stack([array(f"panel/{name}") for name in PANEL_SUM_NAMES], axis=-1),
            directions=array("angles/directions"),
            pupil=array("pupil/photons"),
            spots=array("screen/spots") if with_screen else NO_SPOTS,
            stop_sums=array("screen/stop_sums") if with_screen else NO_STOP_SUMS,
            lost=_LOST.validate_json(stored.text("lost_histories"), strict=True),
        ),
    )
    refuse_unsound(result)
    return result


def _axes(result: Result) -> dict[str, tuple[Any, str]]:
    """Return every axis: values and unit. Bins are given by their centres."""
    panel, tallies = result.scene.panel, result.tallies
    bins = tallies.batches["profile_x"].shape[-1]
    radius = 0.5 * result.scene.stop.diameter_mm
    return {
        "batch": (np.arange(len(tallies.batches["incident"])), "1"),
        "fate": (np.array([name.encode() for name, _ in result.fate_names]), ""),
        "light": (np.array([b"incident", b"collected"]), ""),
        "direction_sum": (np.array([b"u", b"v", b"uu", b"vv"]), ""),
        "x_mm": (_centres(panel.columns, 0.5 * panel.active_width_mm), "mm"),
        "y_mm": (_centres(panel.rows, 0.5 * panel.active_height_mm), "mm"),
        "cell_x": (_centres(9, 0.5 * panel.active_width_mm), "mm"),
        "cell_y": (_centres(9, 0.5 * panel.active_height_mm), "mm"),
        "profile_x_mm": (_centres(bins, 0.5 * panel.active_width_mm), "mm"),
        "profile_y_mm": (_centres(bins, 0.5 * panel.active_height_mm), "mm"),
        "polar_deg": (np.arange(90) + 0.5, "deg"),
        "plane_deg": (np.arange(90) * 2.0 - 89.0, "deg"),
        "u": (_centres(tallies.directions.shape[1], 1.0), "1"),
        "v": (_centres(tallies.directions.shape[0], 1.0), "1"),
        "pupil_x_mm": (_centres(tallies.pupil.shape[1], radius), "mm"),
        "screen_sum": (
            _words("photons stray dx dy dxx dyy dxy ex ey ee de"),
            "1, mm * 2**20 or mm^2 * 2**20",
        ),
        "colour": (_words("blue green red"), ""),
        "colour_sum": (_words("photons dx dy"), "1, mm * 2**20"),
        "ring": ((np.arange(8) + 1.0) / 8.0, "1"),
        "ring_sum": (_words("photons dx dy dd stray"), "1, mm or mm^2, * 2**20"),
        "spot_level": (0.5 ** np.arange(5), "1"),
        "spot_x": (np.arange(32) - 15.5, "1"),
        "spot_y": (np.arange(32) - 15.5, "1"),
        "stop_x_mm": (_centres(16, radius), "mm"),
        "stop_y_mm": (_centres(16, radius), "mm"),
        "stop_sum": (_words("photons dx dy dd odd"), "1, mm or mm^2, * 2**20"),
        "pupil_y_mm": (_centres(tallies.pupil.shape[0], radius), "mm"),
    }


def _words(text: str) -> Any:
    return np.array(text.encode().split())


def _centres(count: int, half: float) -> Any:
    return ((np.arange(count) + 0.5) / count * 2.0 - 1.0) * half


def _store(
    file: h5py.File, name: str, array: Any, axes: dict[str, Any], names: tuple[str, ...], unit: str
) -> None:
    # Counts are packed to the bits that they need, chunk by chunk. On a panel of 1920 x 1080 that
    # is smaller than deflated data (28 against 37 MB) and takes a fifth of the time (0.3 of 1.7 s).
    packed = {"scaleoffset": 0} if array.dtype.kind == "i" and array.size else {}
    dataset = file.create_dataset(name, data=array, **packed)
    dataset.attrs["units"] = unit
    for k, axis in enumerate(names):
        dataset.dims[k].attach_scale(file[axis])
        dataset.dims[k].label = axis


def _store_text(file: h5py.File, name: str, text: str) -> None:
    import h5py

    data = text.encode()
    if len(data) > LONGEST_TEXT:
        raise ResultError(f"the {name} is longer than {LONGEST_TEXT} bytes")
    # Fixed length, in place: text of variable length would lie in a heap of its own.
    kind = h5py.string_dtype("utf-8", max(len(data), 1))
    file.create_dataset(name, data=np.array(data, dtype=kind))
