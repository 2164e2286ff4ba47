"""Spoilt result files: in their bytes, and through the library that wrote them."""

from __future__ import annotations

import functools
import json
import random
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import h5py
import numpy as np

from photonsim.engine import trace
from photonsim.results import Result, ResultError, load_result
from photonsim.results.files.file import FORMAT
from photonsim.results.files.seal import seal
from photonsim.scene import Scene
from tests.fuzz.commands import run
from tests.fuzz.watched import PREPARED, Verdict
from tests.shipped import scene

# Whole 256 histories, as a guided run counts.
PHOTONS, MORE = 20_480, 512
COMMANDS = ("trace", "trace", "trace", "compare", "compare", "figures")


@functools.cache
def good() -> tuple[Scene, bytes, Result]:
    """Return a scene with a coarse panel, the bytes of a result of it, and that result."""
    small = scene("d", a="columns = 480 => columns = 48", b="rows = 272 => rows = 27")
    result = trace(small, photons=PHOTONS, seed=1)
    with tempfile.TemporaryDirectory(prefix=PREPARED) as folder:
        result.save(Path(folder, "lamp.h5"))
        return small, Path(folder, "lamp.h5").read_bytes(), load_result(Path(folder, "lamp.h5"))


def judge(number: int, folder: Path) -> Verdict:
    """Make spoilt result `number` and give it to a command: continue, compare or draw it."""
    luck = random.Random(number)
    lamp, content, sound = good()
    path = folder / "lamp.h5"
    path.write_bytes(content)
    (folder / "lamp.toml").write_text(lamp.text, "utf-8")
    resealed = False
    if luck.random() < 0.5:
        spoil_bytes(luck, path)
    else:
        resealed = _spoil(luck, path)
    before = path.read_bytes()
    command = luck.choice(COMMANDS)
    if command == "trace":
        ended, complaints = run(
            *("trace", folder / "lamp.toml", "--photons", PHOTONS + MORE, "--out", folder),
            *("--threads", "1"),
        )
    elif command == "compare":
        ended, complaints = run("compare", path, path)
    else:
        ended, complaints = run(
            *("figures", path, "--out", folder / "drawn", "--paths", "2", "--format", "svg")
        )
    if ended.exit_code == 2:
        if path.read_bytes() != before:
            complaints.append(f"{command}: refused the file and changed it")
        if command != "trace" and "lamp.h5" not in ended.output:
            complaints.append(f"{command}: does not say which file is meant: {ended.output}")
        return Verdict("refused", complaints, ended.output)
    complaints += _harm(command, path, before, sound, resealed)
    return Verdict("taken", complaints, ended.output)


def _harm(command: str, path: Path, before: bytes, sound: Result, resealed: bool) -> list[str]:
    """Return what is wrong with a file after a command that took it."""
    if command != "trace" and path.read_bytes() != before:
        return [f"{command}: changed the file"]
    try:
        after = load_result(path)
    except ResultError as error:
        return [f"{command}: left a file that cannot be read: {error}"]
    if resealed:
        return []
    if command == "trace":
        return [] if after.photons == sound.photons + MORE else [f"{after.photons} photons"]
    same = all(
        np.array_equal(array, after.tallies.batches[name])
        for name, array in sound.tallies.batches.items()
    ) and np.array_equal(sound.tallies.panel, after.tallies.panel)
    return [] if same else ["a changed count was not noticed"]


def _spoil(luck: random.Random, path: Path) -> bool:
    """Spoil a file through h5py; return whether it was then sealed anew, as if all were right."""
    with h5py.File(path, "a") as file:
        for _ in range(luck.choice((1, 1, 2, 4))):
            luck.choice(CHANGES)(luck, file)
    if luck.random() < 0.8:
        seal(path, FORMAT)
        return True
    return False


def spoil_bytes(luck: random.Random, path: Path) -> None:
    """Flip, zero, cut, insert or overwrite bytes of a file."""
    data = bytearray(path.read_bytes())
    for _ in range(luck.choice((1, 1, 3, 20))):
        if not data:
            break
        place, length = luck.randrange(len(data)), luck.randrange(1, 600)
        # The head of the file and of its tables is where a byte does most.
        place = luck.choice((place, place, place % 2048))
        kind = luck.randrange(6)
        if kind == 0:
            data[place] ^= 1 << luck.randrange(8)
        elif kind == 1:
            data[place : place + length] = bytes(len(data[place : place + length]))
        elif kind == 2:
            data[place : place + 8] = luck.randbytes(8)
        elif kind == 3:
            del data[place : place + length]
        elif kind == 4:
            data[place:place] = luck.randbytes(length)
        else:
            data[place] = luck.choice((0x00, 0xFF))
    if luck.random() < 0.1:
        del data[luck.randrange(len(data) + 1) :]
    path.write_bytes(data)


def _names(file: h5py.File) -> list[str]:
    """Return the datasets to change: none that an earlier change has made huge or empty."""
    names: list[str] = []

    def keep(name: str, item: Any) -> None:
        if isinstance(item, h5py.Dataset) and (item.size or 0) < 10**7 and item.shape is not None:
            names.append(name)

    file.visititems(keep)
    return names


def _lost(luck: random.Random, file: h5py.File) -> None:
    name = luck.choice([*_names(file), *file])
    del file[name]


def _replaced(luck: random.Random, file: h5py.File) -> None:
    name = luck.choice(_names(file))
    old = file[name][()]
    del file[name]
    kind = luck.randrange(14)
    if kind == 0:
        is_number = np.asarray(old).dtype.kind in "iuf"
        file[name] = np.asarray(old).astype(
            luck.choice(("f8", "i4", "u8", "S5") if is_number else ("S5", "S40"))
        )
    elif kind == 1:
        file[name] = np.asarray(old).ravel()
    elif kind == 2:
        file[name] = np.asarray(old)[..., None]
    elif kind == 3:
        file[name] = np.concatenate([np.atleast_1d(old)] * 2)
    elif kind == 4:
        file[name] = np.atleast_1d(old)[:0]
    elif kind == 5:
        file[name] = luck.choice((0, 1.5, "text", np.nan, -(2**63)))
    elif kind == 6:
        shape = luck.choice(((10**12,), (10**6, 10**6), (400_000_000,), (20_000, 20_000)))
        file.create_dataset(name, shape=shape, dtype="i8", chunks=True, compression="gzip")
    elif kind == 7:
        file.create_group(name)
    elif kind == 8:
        file[name] = h5py.SoftLink(luck.choice(("/panel/incident", "/nowhere", f"/{name}")))
    elif kind == 9:
        file[name] = h5py.ExternalLink(luck.choice(("lamp.h5", "../other.h5")), f"/{name}")
    elif kind == 10:
        file[name] = h5py.Empty(luck.choice(("i8", "f8")))
    else:
        put_elsewhere(luck, file, name)


def put_elsewhere(luck: random.Random, file: h5py.File, name: str) -> None:
    """Let a dataset lie in another file, be put together from one, or hold references."""
    kind = luck.randrange(4)
    if kind == 0:
        file.create_dataset(name, (4,), "f8", external=[("/etc/passwd", 0, 32)])
    elif kind == 1:
        layout = h5py.VirtualLayout((4,), "i8")
        layout[:] = h5py.VirtualSource("../other.h5", "x", (4,))
        file.create_virtual_dataset(name, layout)
    elif kind == 2:
        file.create_dataset(name, data=np.array([file.ref] * 3, dtype=h5py.ref_dtype))
    else:
        file.create_dataset(name, (3,), h5py.vlen_dtype(np.float64))


def _changed(luck: random.Random, file: h5py.File) -> None:
    name = luck.choice(_names(file))
    data = np.array(file[name][()])
    if data.dtype.kind in "iu" and data.size:
        flat = data.ravel()
        for _ in range(luck.choice((1, 5))):
            flat[luck.randrange(flat.size)] = luck.choice((-1, 0, 1, 2**31, 2**62, -(2**63)))
        if file[name].shape == data.shape:
            file[name][...] = flat.reshape(data.shape)


def _attribute(luck: random.Random, file: h5py.File) -> None:
    name = luck.choice(list(file.attrs))
    values: list[Any] = [0, -1, 1, 3, 99, 2**62, 1.5, np.nan, np.inf, "", "x", "partial", b"\xff"]
    values += [np.arange(3), np.zeros((0,)), h5py.Empty("f4"), "\u202e" * 50, True]
    file.attrs[name] = luck.choice(values)
    if luck.random() < 0.3:
        del file.attrs[name]


def _text(luck: random.Random, file: h5py.File) -> None:
    name = luck.choice(("scene", "run", "run", "lost_histories"))
    if name not in file:
        return
    text = file[name][()]
    text = text.decode(errors="replace") if isinstance(text, bytes) else str(text)
    kind = luck.randrange(6)
    if kind == 0:
        text = text.replace(luck.choice('0123456789"{}[]:,'), luck.choice(("", "-", "9", "x")))
    elif kind == 1:
        text = luck.choice(("", "null", "[]", "{}", "[" * 50_000, "3", '"x"', "NaN", "\x00"))
    elif kind == 2 and name == "run":
        try:
            told = json.loads(text)
            told[luck.choice([*told, "stray"])] = luck.choice(
                (None, -1, 2**70, 1.5, "x", [], {}, {"trace": "x"}, {"trace": None}, True)
            )
            text = json.dumps(told)
        except (ValueError, TypeError):
            text = "{"
    elif kind == 3 and name == "lost_histories":
        text = luck.choice(("[-1]", "[1.5]", '["x"]', "[1e400]", "[99999999999999999999999]", "{}"))
    elif kind == 4 and name == "scene":
        text = scene(luck.choice("abcdef")).text
    else:
        text = text[: luck.randrange(len(text) + 1)]
    del file[name]
    data = text.encode()
    if luck.random() < 0.2:
        file[name] = text.replace("\x00", "")
    else:
        file.create_dataset(
            name, data=np.array(data, dtype=h5py.string_dtype("utf-8", max(len(data), 1)))
        )


def _added(luck: random.Random, file: h5py.File) -> None:
    name = luck.choice(("more", "panel/more", "a/b/c", "é", "batches/incident2"))
    if name not in file:
        file[name] = luck.choice((np.arange(5), "text", 1.5))


def _fates(luck: random.Random, file: h5py.File) -> None:
    if isinstance(file.get("fate"), h5py.Dataset) and file["fate"].dtype.kind == "S":
        names = file["fate"][()]
        if np.ndim(names) == 1 and len(names) > 1:
            names[luck.randrange(len(names))] = luck.choice((names[0], b"", b"\xff\xfe", b"x"))
            if file["fate"].shape == names.shape:
                file["fate"][...] = names


Change = Callable[[random.Random, h5py.File], None]
CHANGES: tuple[Change, ...] = (
    *(_lost, _replaced, _replaced, _changed, _changed, _attribute, _attribute),
    *(_text, _text, _added, _fates),
)
