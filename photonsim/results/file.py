"""The result file: HDF5, also the checkpoint of a run; whole or not at all.

Written to a temporary name beside the target, flushed to disk, renamed. A digest over all that
was written tells a good file from one cut short or changed. DEVELOPERS.md describes the format.
"""

from __future__ import annotations

import contextlib
import glob
import hashlib
import json
import os
from collections.abc import Iterator
from dataclasses import asdict
from os import PathLike
from pathlib import Path
from typing import Any

import h5py
import numpy as np
from filelock import FileLock, Timeout

from photonsim.results.errors import ResultError
from photonsim.results.result import Result, Run
from photonsim.results.tallies import PANEL_SUM_NAMES, Tallies
from photonsim.scene import SceneError, parse_scene

FORMAT = "photonsim result"
FORMAT_VERSION = 1
# Far above any honest text; a changed length field must not ask for gigabytes.
LONGEST_TEXT = 4_000_000
LARGEST_ARRAY = 4_000_000_000

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
    "fates": ("fate",),
}


def save_result(result: Result, path: str | PathLike[str]) -> None:
    """Write a result; an existing file is replaced only by a complete new one.

    Raises ResultError where the place cannot be written or holds something that is not a result.
    """
    target = Path(path)
    refuse_foreign(target)
    temporary = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with h5py.File(temporary, "w") as file:
            _write(file, result)
        with open(temporary, "rb+") as written:
            os.fsync(written.fileno())
        os.replace(temporary, target)
    except (OSError, RuntimeError) as error:  # h5py tells a full disk as either
        reason = getattr(error, "strerror", None) or _first_line(error)
        raise ResultError(
            f"{target}: could not be written ({reason}); what was saved before is untouched"
        ) from None
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)


@contextlib.contextmanager
def sole_writer(path: str | PathLike[str]) -> Iterator[None]:
    """Hold a result file for one process while it is traced into, and sweep up after killed ones.

    The lock is the system's on a file beside the target, so it ends with the process that holds
    it, however that ends. Raises ResultError where another process holds it.
    """
    target = Path(path)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with FileLock(target.with_name(f".{target.name}.lock"), timeout=0):
            for left_over in target.parent.glob(f".{glob.escape(target.name)}.*.part"):
                left_over.unlink(missing_ok=True)
            yield
    except Timeout:
        raise ResultError(
            f"{target}: another photonsim is tracing into this file; wait for it, or choose "
            "another folder with --out"
        ) from None
    except OSError as error:
        raise ResultError(f"{target}: cannot be written ({error.strerror or error})") from None


def refuse_foreign(path: Path) -> None:
    """Raise ResultError where a path holds something that is not a photonsim result."""
    if not path.exists():
        return
    if path.is_dir():
        raise ResultError(f"{path}: is a folder; give a file name for the result")
    try:
        with h5py.File(path, "r") as file:
            ours = _text(file.attrs.get("format")) == FORMAT
    except (OSError, RuntimeError):
        ours = False
    if not ours:
        raise ResultError(
            f"{path}: exists and is not a photonsim result; choose another name or remove it"
        )


def load_result(path: str | PathLike[str]) -> Result:
    """Read a result file. Raises ResultError with one sentence where it is not a sound one."""
    source = Path(path)
    if not source.exists():
        raise ResultError(f"{source}: there is no such file")
    if source.is_dir():
        raise ResultError(f"{source}: is a folder, not a result file")
    try:
        with h5py.File(source, "r") as file:
            return _read(file, source)
    except ResultError:
        raise
    except SceneError as error:
        raise ResultError(f"{source}: the scene in it is not valid: {error}") from None
    except (OSError, KeyError, ValueError, TypeError, RuntimeError, MemoryError) as error:
        raise ResultError(
            f"{source}: is damaged or not a photonsim result ({_first_line(error)})"
        ) from None


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
    file.attrs["batch_photons"] = tallies.batch_photons
    file.attrs["photons"] = tallies.photons
    file.attrs["digest"] = _digest(file)


def _read(file: h5py.File, source: Path) -> Result:
    if _text(file.attrs.get("format")) != FORMAT:
        raise ResultError(f"{source}: is an HDF5 file, but not a photonsim result")
    version = int(file.attrs["format_version"])
    if version > FORMAT_VERSION:
        raise ResultError(
            f"{source}: has the format version {version}, newer than this program reads "
            f"({FORMAT_VERSION}); install a newer photonsim"
        )
    if _text(file.attrs["digest"]) != _digest(file):
        raise ResultError(f"{source}: was changed or damaged after it was written (digest differs)")
    panel = np.stack([_array(file, f"panel/{name}") for name in PANEL_SUM_NAMES], axis=-1)
    tallies = Tallies(
        photons=int(file.attrs["photons"]),
        batch_photons=int(file.attrs["batch_photons"]),
        batches={name: _array(file, f"batches/{name}") for name in BATCH_AXES},
        panel=np.ascontiguousarray(panel),
        directions=_array(file, "angles/directions"),
        pupil=_array(file, "pupil/photons"),
        lost=json.loads(_stored_text(file, "lost_histories")),
    )
    names = [_text(name) for name in file["fate"][()]]
    groups = [_text(group) for group in file["fates/group"][()]]
    return Result(
        scene=parse_scene(_stored_text(file, "scene"), f"scene in {source.name}"),
        run=Run(**json.loads(_stored_text(file, "run"))),
        fate_names=tuple(zip(names, groups, strict=True)),
        tallies=tallies,
    )


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
        "pupil_y_mm": (_centres(tallies.pupil.shape[0], radius), "mm"),
    }


def _centres(count: int, half: float) -> Any:
    return ((np.arange(count) + 0.5) / count * 2.0 - 1.0) * half


def _store(
    file: h5py.File, name: str, array: Any, axes: dict[str, Any], names: tuple[str, ...], unit: str
) -> None:
    dataset = file.create_dataset(name, data=array, compression="gzip", compression_opts=1)
    dataset.attrs["units"] = unit
    for k, axis in enumerate(names):
        dataset.dims[k].attach_scale(file[axis])
        dataset.dims[k].label = axis


def _store_text(file: h5py.File, name: str, text: str) -> None:
    data = text.encode()
    if len(data) > LONGEST_TEXT:
        raise ResultError(f"the {name} is longer than {LONGEST_TEXT} bytes")
    # Fixed length, in place: text of variable length would lie in a heap of its own.
    kind = h5py.string_dtype("utf-8", max(len(data), 1))
    file.create_dataset(name, data=np.array(data, dtype=kind))


def _stored_text(file: h5py.File, name: str) -> str:
    if file[name].shape != () or file[name].dtype.itemsize > LONGEST_TEXT:
        raise ResultError(f"{file.filename}: {name} is not of the kind a photonsim result has")
    return _text(file[name][()])


def _array(file: h5py.File, name: str) -> Any:
    dataset = file[name]
    if dataset.dtype != np.int64 or dataset.size * dataset.dtype.itemsize > LARGEST_ARRAY:
        raise ResultError(f"{file.filename}: {name} is not of the kind a photonsim result has")
    return dataset[()]


def _digest(file: h5py.File) -> str:
    """Return SHA-256 over names, shapes and bytes of all data and over the root attributes."""
    digest = hashlib.sha256()
    for name in sorted(set(file.attrs) - {"digest"}):
        digest.update(f"{name}={_text(file.attrs[name])}\n".encode())
    names: list[str] = []
    file.visititems(lambda name, item: names.append(name) if hasattr(item, "shape") else None)
    for name in sorted(names):
        dataset = file[name]
        if dataset.size * dataset.dtype.itemsize > LARGEST_ARRAY:
            raise ResultError(f"{file.filename}: {name} is larger than any photonsim result")
        digest.update(f"{name} {dataset.shape} {dataset.dtype.str}\n".encode())
        digest.update(np.asarray(dataset[()]).tobytes())
    return digest.hexdigest()


def _text(value: Any) -> str:
    return value.decode() if isinstance(value, bytes) else str(value)


def _first_line(error: BaseException) -> str:
    return (str(error).splitlines() or [type(error).__name__])[0]
