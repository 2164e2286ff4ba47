"""Journals of a study as somebody edited or damaged them: the study goes on or says why not."""

from __future__ import annotations

import functools
import json
import os
import random
import tempfile
from pathlib import Path

from photonsim.results import ResultError
from photonsim.scene import SceneError
from photonsim.studies.effort import Effort
from photonsim.studies.points import Setting
from photonsim.studies.sweep import sweep
from tests.fuzz.result_files import spoil_bytes
from tests.fuzz.watched import PREPARED, Verdict
from tests.shipped import scene

NAMES = ("study.json", "points.jsonl")
TOKENS = ("", "null", "[]", "{}", "[" * 50_000, "NaN", "1e999", '"', "\x00", "\ufeff", "9" * 5000)
POINTS = [{"train.film.z_mm": z} for z in (10.0, 14.0, 60.0)]


@functools.cache
def setting() -> Setting:
    """Return a study of a coarse lamp that takes a few hundred photons a point."""
    small = scene("d", a="columns = 480 => columns = 48", b="rows = 272 => rows = 27")
    return Setting(small, Effort(0.5, most_photons=500), threads=1)


@functools.cache
def good() -> tuple[dict[str, bytes], str]:
    """Return the files of a sound study, and its table."""
    with tempfile.TemporaryDirectory(prefix=PREPARED) as folder:
        table = sweep(setting(), POINTS, Path(folder)).as_csv()
        return {name: Path(folder, name).read_bytes() for name in NAMES}, table


def judge(number: int, folder: Path) -> Verdict:
    """Spoil journal `number` and go on with its study."""
    luck = random.Random(number)
    files, table = good()
    for name, content in files.items():
        (folder / name).write_bytes(content)
    path = folder / luck.choice(NAMES)
    _spoil(luck, path)
    try:
        found = sweep(setting(), POINTS, folder, fresh=luck.random() < 0.1)
    except (ResultError, SceneError) as error:
        return Verdict("refused", [] if str(folder) in str(error) else [f"where? {error}"])
    return Verdict("taken", [] if found.as_csv() == table else ["a changed number was not noticed"])


def _spoil(luck: random.Random, path: Path) -> None:
    kind = luck.randrange(8)
    text = path.read_text("utf-8")
    if kind == 0:
        spoil_bytes(luck, path)
    elif kind == 1:
        place = luck.randrange(len(text))
        path.write_text(text[:place] + luck.choice(TOKENS) + text[place:], "utf-8")
    elif kind == 2:
        digits = [k for k, sign in enumerate(text) if sign.isdigit()]
        place = luck.choice(digits)
        path.write_text(text[:place] + luck.choice("0123456789-.e") + text[place + 1 :], "utf-8")
    elif kind == 3:
        lines = text.splitlines(keepends=True)
        luck.shuffle(lines)
        path.write_text("".join(lines[: luck.randrange(len(lines) + 1)]), "utf-8")
    elif kind == 4:
        path.unlink()
        if luck.random() < 0.7:
            (os.mkfifo if hasattr(os, "mkfifo") and luck.random() < 0.5 else os.mkdir)(path)
    elif kind == 5 and path.name == "study.json":
        told = json.loads(text)
        value = luck.choice((None, 1, "x", [], {}, 1e300, True, "kind = 3"))
        told[luck.choice([*told, "stray"])] = value
        path.write_text(json.dumps(told), "utf-8")
    elif kind == 6:
        path.write_text(luck.choice(TOKENS), "utf-8")
    else:
        path.write_text(text[: luck.randrange(len(text))], "utf-8")
