"""The table of a study as HDF5: one dataset a column, so that array libraries open it."""

from __future__ import annotations

import json
from os import PathLike
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from pydantic import TypeAdapter

from photonsim.results.files.guarded_file import Stored, opened
from photonsim.results.files.seal import sealed
from photonsim.results.files.study_table import Column, StudyTable
from photonsim.results.files.table_soundness import refuse_unsound_table
from photonsim.results.files.writing import write_file

# As in file.py: imported on use.
if TYPE_CHECKING:
    import h5py

FORMAT = "photonsim study table"
FORMAT_VERSION = 1
# A million designs in sixty columns.
MOST_BYTES = 500_000_000
_FACTS: TypeAdapter[dict[str, float]] = TypeAdapter(dict[str, float])


def save_table(table: StudyTable, path: str | PathLike[str]) -> None:
    """Write a table; the file is there whole or not at all. Raises ResultError.

    >>> import photonsim
    >>> heights = {"train.film.z_mm": [10, 14]}
    >>> table = photonsim.sweep("scenes/d_split_film.toml", heights, photons=1e4)
    >>> photonsim.save_table(table, "sweep.h5")
    >>> len(photonsim.load_table("sweep.h5"))
    2
    """
    import h5py

    # Made in memory: there no disk can be full.
    with h5py.File("table", "w", driver="core", backing_store=False) as file:
        _write(file, table)
        file.flush()
        content = file.id.get_file_image()
    write_file(path, sealed(content, FORMAT))


def load_table(path: str | PathLike[str]) -> StudyTable:
    """Read a table. Raises ResultError with one sentence where the file is not a sound one.

    >>> import photonsim
    >>> heights = {"train.film.z_mm": [10, 14]}
    >>> table = photonsim.sweep("scenes/d_split_film.toml", heights, photons=1e4)
    >>> photonsim.save_table(table, "sweep.h5")
    >>> photonsim.load_table("sweep.h5").kind
    'sweep'
    """
    with opened(Path(path), FORMAT, FORMAT_VERSION, MOST_BYTES) as stored:
        table = _read(stored)
        refuse_unsound_table(table)
        return table


def _write(file: h5py.File, table: StudyTable) -> None:
    import h5py

    file.attrs["format"] = FORMAT
    file.attrs["format_version"] = FORMAT_VERSION
    file.attrs["kind"], file.attrs["title"] = table.kind, table.title
    file.attrs["program_version"] = table.program_version
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


def _read(stored: Stored) -> StudyTable:
    rows = stored.shape("row")
    if len(rows) != 1:
        raise ValueError("its rows have no numbers")
    names = stored.groups("columns")
    order = {name: stored.whole_number("place", f"columns/{name}") for name in names}
    if sorted(order.values()) != list(range(len(names))):
        raise ValueError("its columns are in no order")
    return StudyTable(
        kind=stored.words_of("kind"),
        title=stored.words_of("title"),
        scene=stored.text("scene"),
        columns=tuple(_column(stored, name, rows) for name in sorted(names, key=order.__getitem__)),
        facts=_FACTS.validate_json(stored.words_of("facts"), strict=True),
        # Files of 0.3.0 do not tell.
        program_version=stored.words_of("program_version") if stored.has("program_version") else "",
    )


def _column(stored: Stored, name: str, rows: tuple[int, ...]) -> Column:
    group = f"columns/{name}"
    value, error = f"{group}/value", f"{group}/error"
    kind = stored.kind(value)
    if kind == "text":
        values = np.array(stored.words(value, rows[0]), dtype=str)
    else:
        values = (stored.counts if kind == "whole numbers" else stored.numbers)(value, rows)
    return Column(
        name=name,
        label=stored.words_of("label", group),
        unit=stored.words_of("units", group),
        role=stored.words_of("role", group),
        values=values,
        errors=stored.numbers(error, rows) if error in stored else None,
    )
