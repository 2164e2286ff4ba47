"""A study's folder: what was asked, and every point that was traced, so that nothing is done twice.

`study.json` holds what all points share (the scene's text, the seed, the wanted error); a line of
`points.jsonl` holds one traced point, behind its digest. A line is written and flushed as soon as
its point is done, so a kill loses at most the points that were under way; a line cut short is
dropped on the next start, and one that was changed is told and its point traced again. One process
at a time has a folder: lines of two would mix.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Mapping
from contextlib import ExitStack
from copy import copy
from pathlib import Path
from typing import Any, Self

from photonsim.results import ResultError, sole_writer
from photonsim.results.files.writing import replace_whole, set_aside
from photonsim.scene import changes, parse_scene
from photonsim.words.escaping import visible

DEFINITION, POINTS = "study.json", "points.jsonl"
VERSION = "program_version"
Record = dict[str, Any]


class Journal:
    """The records of a study by key; use it in a `with` block.

    With no folder they are only kept in memory.
    """

    def __init__(self, folder: Path | None, definition: Record, fresh: bool = False):
        """Open or begin a study.

        Raises ResultError where the folder holds another one, or another process has it.
        """
        self.folder = folder
        self.records: dict[str, Record] = {}
        self.found = 0
        self._part = ""
        self._held = ExitStack()
        if folder is None:
            return
        with ExitStack() as held:
            held.enter_context(sole_writer(folder / POINTS))
            self._begin(folder, definition, fresh)
            self._held = held.pop_all()
        self.found = len(self.records)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._held.close()

    def _begin(self, folder: Path, definition: Record, fresh: bool) -> None:
        try:
            for path in (folder / DEFINITION, folder / POINTS):
                if path.exists() and not path.is_file():  # a pipe would be waited for without end
                    raise ResultError(f"{path}: is a folder or no ordinary file")
                if fresh and path.exists():
                    set_aside(path)
            self._open(folder, dict(definition))
        except OSError as error:
            raise ResultError(f"{folder}: could not be used ({error.strerror})") from None

    def __contains__(self, key: str) -> bool:
        return self._part + key in self.records

    def __getitem__(self, key: str) -> Record:
        return self.records[self._part + key]

    def add(self, key: str, record: Record) -> None:
        """Keep a point, on disk before this returns."""
        key = self._part + key
        self.records[key] = record
        if self.folder is None:
            return
        line = _sealed(json.dumps({"key": key, "record": record})) + "\n"
        try:
            with open(self.folder / POINTS, "a", encoding="utf-8", newline="\n") as file:
                file.write(line)
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            where = self.folder / POINTS
            raise ResultError(f"{where}: could not be written ({error.strerror})") from None

    def part(self, name: str) -> Journal:
        """Return the journal of one part of the study, which shares records and folder."""
        part = copy(self)
        part._part = f"{name}: "
        return part

    def _open(self, folder: Path, wanted: Record) -> None:
        path = folder / DEFINITION
        if path.exists():
            try:
                kept = json.loads(path.read_text(encoding="utf-8"))
                made_by, version = (one[VERSION] for one in (kept, wanted))
                found = [] if made_by != version else differences(kept, wanted)
            except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
                raise ResultError(
                    f"{path}: is damaged or no photonsim study; choose another folder"
                ) from None
            if made_by != version:
                raise ResultError(
                    f"{folder}: holds a study made by photonsim {made_by}, which "
                    f"{version} does not go on with; give another folder to keep both, or "
                    "add --fresh to begin anew"
                )
            if found:
                listed = "\n".join(f"  {change}" for change in found)
                raise ResultError(
                    f"{folder}: holds a study that differs from what is asked now:\n{listed}\n"
                    "undo the change to go on with it, give another folder to keep both, or add "
                    "--fresh to begin anew"
                )
            self._read(folder / POINTS)
            return
        if (folder / POINTS).exists():
            raise ResultError(f"{folder}: {POINTS} lies there without {DEFINITION}; add --fresh")
        replace_whole(path, json.dumps(wanted, indent=1).encode())

    def _read(self, path: Path) -> None:
        if not path.exists():
            return
        content = path.read_bytes()
        whole = content[: content.rfind(b"\n") + 1]
        good = []
        for number, line in enumerate(whole.split(b"\n")[:-1], 1):
            body = _unsealed(line)
            if body is None:
                words = f"{path}: line {number} was changed or damaged; its point is traced again"
                print(visible(words), file=sys.stderr, flush=True)
                continue
            entry = json.loads(body)
            self.records[entry["key"]] = entry["record"]
            good.append(line + b"\n")
        if (kept := b"".join(good)) != content:
            # What a kill cut short is of no use; what was changed by hand is kept.
            replace_whole(path, kept, keep=kept != whole)


def _sealed(body: str) -> str:
    """Return an object in JSON as a line: with the digest of the rest as its first entry."""
    return f'{{"sha256": "{hashlib.sha256(body.encode()).hexdigest()}", {body[1:]}'


def _unsealed(line: bytes) -> bytes | None:
    """Return what was sealed as a line; None where that is not what stands there."""
    head = len('{"sha256": "", ') + hashlib.sha256().digest_size * 2
    body = b"{" + line[head:]
    return body if _sealed(body.decode("utf-8", "replace")).encode() == line else None


def point_key(point: Mapping[str, Any]) -> str:
    """Return the key of a point: its numbers in full digits, sorted by path."""
    return json.dumps(dict(point), sort_keys=True)


def differences(kept: Record, wanted: Record) -> list[str]:
    """Return what differs between two definitions of a study, in words: what photons see."""
    if kept.get("kind") != wanted.get("kind"):  # all else differs too
        return [f"kind of study: was {kept.get('kind')}, now {wanted.get('kind')}"]
    found = []
    for name in {**kept, **wanted}:
        before, now = kept.get(name), wanted.get(name)
        if before == now:
            continue
        if name.startswith("scene") and before and now:
            told = changes(parse_scene(before), parse_scene(now))
            found += [f"{name}: {change}" for change in told]
        elif name.startswith("scene"):
            found.append(f"{name}: {'is new' if now else 'is not there now'}")
        elif name in ("guide", "guides"):  # by their digests
            found.append(f"{name}: not the same")
        else:
            found.append(f"{name}: was {before!r}, now {now!r}")
    return found
