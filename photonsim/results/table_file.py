"""The table of a study as HDF5: one dataset a column, so that array libraries open it."""

from __future__ import annotations

import contextlib
import json
import os
from os import PathLike
from pathlib import Path

import h5py
import numpy as np

from photonsim.results.errors import ResultError
from photonsim.results.seal import refuse_changed, seal
from photonsim.results.study_table import Column, StudyTable

FORMAT = "photonsim study table"
FORMAT_VERSION = 1


def save_table(table: StudyTable, path: str | PathLike[str]) -> None:
    """Write a table; the file is there whole or not at all. Raises ResultError."""
    target = Path(path)
    temporary = target.with_name(f".{target.name}.{os.getpid()}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with h5py.File(temporary, "w") as file:
            _write(file, table)
        seal(temporary, FORMAT)
        os.replace(temporary, target)
    except OSError as error:
        reason = error.strerror or str(error)
        raise ResultError(f"{target}: could not be written ({reason})") from None
    finally:
        with contextlib.suppress(OSError):
            temporary.unlink(missing_ok=True)


def load_table(path: str | PathLike[str]) -> StudyTable:
    """Read a table. Raises ResultError with one sentence where the file is not a sound one."""
    source = Path(path)
    if not source.is_file():
        raise ResultError(f"{source}: there is no such file")
    try:
        refuse_changed(source, FORMAT)
        with h5py.File(source, "r") as file:
            return _read(file, source)
    except (OSError, KeyError, ValueError, TypeError, RuntimeError) as error:
        raise ResultError(f"{source}: is damaged or not a photonsim study ({error})") from None


def _write(file: h5py.File, table: StudyTable) -> None:
    file.attrs["format"] = FORMAT
    file.attrs["format_version"] = FORMAT_VERSION
    file.attrs["kind"], file.attrs["title"] = table.kind, table.title
    file.attrs["facts"] = json.dumps(table.facts, sort_keys=True)
    # In place, not an attribute: those end at 64 kB.
    file.create_dataset("scene", data=table.scene, dtype=h5py.string_dtype("utf-8"))
    row = file.create_dataset("row", data=np.arange(len(table)))
    row.make_scale("row")
    for place, column in enumerate(table.columns):
        # A path has points but no slashes, so it is a name as it stands.
        group = file.create_group(f"columns/{column.name}")
        group.attrs["place"], group.attrs["role"] = place, column.role
        group.attrs["label"], group.attrs["units"] = column.label, column.unit
        kind = h5py.string_dtype("utf-8") if column.has_words else None
        parts = {"value": column.values.astype(object) if column.has_words else column.values}
        if column.errors is not None:
            parts["error"] = column.errors
        for name, values in parts.items():
            dataset = group.create_dataset(name, data=values, dtype=kind)
            dataset.attrs["units"] = column.unit
            dataset.dims[0].attach_scale(row)
            dataset.dims[0].label = "row"


def _read(file: h5py.File, source: Path) -> StudyTable:
    if file.attrs.get("format") != FORMAT:
        raise ResultError(f"{source}: is an HDF5 file, but not a photonsim study table")
    version = int(file.attrs["format_version"])
    if version > FORMAT_VERSION:
        raise ResultError(
            f"{source}: has the format version {version}, newer than this program reads "
            f"({FORMAT_VERSION}); install a newer photonsim"
        )
    groups = file.get("columns", {})
    columns = [_column(name, groups[name]) for name in groups]
    order = {name: int(groups[name].attrs["place"]) for name in groups}
    return StudyTable(
        kind=str(file.attrs["kind"]),
        title=str(file.attrs["title"]),
        scene=file["scene"].asstr()[()],
        columns=tuple(sorted(columns, key=lambda column: order[column.name])),
        facts=json.loads(file.attrs["facts"]),
    )


def _column(name: str, group: h5py.Group) -> Column:
    value = group["value"]
    words = h5py.check_string_dtype(value.dtype) is not None
    return Column(
        name=name,
        label=str(group.attrs["label"]),
        unit=str(group.attrs["units"]),
        role=str(group.attrs["role"]),
        values=value.asstr()[()].astype(str) if words else value[()],
        errors=group["error"][()] if "error" in group else None,
    )
