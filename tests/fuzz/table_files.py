"""Spoilt study tables, most of them sealed as if all were right: read, and drawn if taken."""

from __future__ import annotations

import contextlib
import functools
import json
import random
import tempfile
from pathlib import Path
from typing import Any

import h5py
import numpy as np

from photonsim.report.studies import study
from photonsim.results import ResultError
from photonsim.results.files.guarded_file import UNREADABLE
from photonsim.results.files.seal import seal
from photonsim.results.files.study_table import FACT, FIGURE, PARAMETER, Column, StudyTable
from photonsim.results.files.table_file import FORMAT, load_table, save_table
from tests.fuzz.result_files import put_elsewhere, spoil_bytes
from tests.fuzz.watched import PREPARED, Verdict

KINDS = ("sweep", "tune", "front", "tolerance", "race")
NUMBERS = (0, 1, -1, 0.5, 1e17, 1e300, -1e300, float("nan"), float("inf"), 2**62, -(2**63))
WORDS = ("", "x", "\x1b[2J", "<script>", "=1+1", "é" * 300, "\u202e", "tune", "a" * 70_000)


@functools.cache
def good(kind: str) -> bytes:
    """Return the bytes of a sound table of a kind, with made-up numbers."""
    luck, rows = np.random.default_rng(1), 12
    columns = [
        Column(f"train.film.p{k}_mm", f"film p{k}", "mm", PARAMETER, luck.uniform(5, 20, rows))
        for k in range(2 if kind != "race" else 0)
    ]
    for name in ("collected_lm", "structure"):
        columns.append(
            Column(name, name, "lm", FIGURE, luck.uniform(0, 9, rows), np.full(rows, 0.1))
        )
    flags = np.arange(rows) % 2
    columns += [
        Column("photons", "photons", "", FACT, np.arange(rows)),
        Column("remark", "remark", "", FACT, np.array(["too long", *[""] * (rows - 1)])),
        Column("on_front", "on the front", "", FACT, flags),
        Column("within_limits", "within limits", "", FACT, flags),
    ]
    facts = {"sense": 1.0, "goal collected_lm": 1.0, "yield": 0.5}
    facts |= {"goal structure": 1.0} if kind == "front" else {"limit structure": 3.0}
    for name in ("collected_lm", "structure"):
        for path in ("train.film.p0_mm", "train.film.p1_mm"):
            facts |= {f"share {name} {path}": 0.4, f"share error {name} {path}": 0.1}
    table = StudyTable(kind, "A lamp", "title = 'é'", tuple(columns), facts)
    with tempfile.TemporaryDirectory(prefix=PREPARED) as folder:
        save_table(table, Path(folder, "table.h5"))
        return Path(folder, "table.h5").read_bytes()


def judge(number: int, folder: Path) -> Verdict:
    """Make spoilt table `number`, read it and, if it is taken, draw it."""
    luck = random.Random(number)
    path = folder / "table.h5"
    path.write_bytes(good(luck.choice(KINDS)))
    if luck.random() < 0.2:
        spoil_bytes(luck, path)
    else:
        with h5py.File(path, "a") as file:
            for _ in range(luck.choice((1, 1, 2, 4))):
                # What was spoilt before may leave nothing for this one to change.
                with contextlib.suppress(*UNREADABLE, RuntimeWarning):
                    _spoil(luck, file)
        if luck.random() < 0.9:
            seal(path, FORMAT)
    before = path.read_bytes()
    try:
        found = load_table(path)
    except ResultError as error:
        named = [] if "table.h5" in str(error) else [f"does not say which file is meant: {error}"]
        return Verdict("refused", named, str(error))
    study(found, "study-1")
    found.as_csv()
    return Verdict("taken", [] if path.read_bytes() == before else ["changed the file"])


def _spoil(luck: random.Random, file: h5py.File) -> None:
    groups = [f"columns/{name}" for name in file.get("columns", {})]
    datasets = [f"{group}/{name}" for group in groups for name in file[group]] + ["scene", "row"]
    datasets = [name for name in datasets if isinstance(file.get(name), h5py.Dataset)]
    kind = luck.randrange(7)
    if kind == 0 and datasets:
        del file[luck.choice(datasets)]
    elif kind == 1 and groups:
        del file[luck.choice(groups)]
    elif kind == 2 and datasets:
        _change(luck, file, luck.choice(datasets))
    elif kind == 3:
        where: Any = luck.choice([file, *(file[group] for group in groups)])
        if len(where.attrs):
            name = luck.choice(list(where.attrs))
            value = luck.choice((*NUMBERS, *WORDS[:-1], b"\xff", np.arange(3), h5py.Empty("f4")))
            where.attrs[name] = value.replace("\x00", "") if isinstance(value, str) else value
    elif kind == 4:
        _change_facts(luck, file)
    elif kind == 5 and datasets:
        name = luck.choice(datasets)
        del file[name]
        put_elsewhere(luck, file, name)
    elif kind == 6 and datasets:
        name = luck.choice(datasets)
        del file[name]
        file[name] = luck.choice(
            (h5py.SoftLink("/row"), h5py.ExternalLink("../x.h5", "/x"), 3, "x", np.zeros((2, 2)))
        )


def _change(luck: random.Random, file: h5py.File, name: str) -> None:
    if (file[name].dtype.metadata and "ref" in file[name].dtype.metadata) or not file[name].size:
        return
    kept = np.array(file[name][()])
    del file[name]
    if kept.ndim and kept.dtype.kind in "iuf" and luck.random() < 0.7:
        kept = kept.astype(luck.choice((kept.dtype.str, "f8", "i8", "f4")))
        number = luck.choice(NUMBERS)
        with np.errstate(all="ignore"):
            if kept.dtype.kind == "f" or (number == number and abs(number) < 2**63):
                kept.ravel()[luck.randrange(kept.size)] = number
        file[name] = kept
    elif kept.ndim and kept.dtype.kind == "O":
        file[name] = np.array([luck.choice(WORDS).replace("\x00", "")] * len(kept), object)
    else:
        file[name] = kept[: len(kept) // 2] if kept.ndim else np.zeros(3)


def _change_facts(luck: random.Random, file: h5py.File) -> None:
    try:
        facts = json.loads(file.attrs["facts"])
        name = luck.choice(list(facts))
    except (ValueError, KeyError, TypeError, IndexError):
        return
    if luck.random() < 0.5:
        del facts[name]
    else:
        facts[luck.choice((name, "goal nothing", "limit x"))] = luck.choice((*NUMBERS, "x", None))
    file.attrs["facts"] = luck.choice((json.dumps(facts), json.dumps(facts), "[" * 9000, "3"))
