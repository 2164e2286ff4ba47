"""LM-63 files that a scene names: found beside it, read, and written into its text.

A scene's text must be enough to trace it again, from a result file on another computer too, so the
text of the measured table takes the place of the file's name.
"""

from __future__ import annotations

from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any, NamedTuple

from photonsim.scene.lm63 import Lm63Error, read_lm63
from photonsim.scene.mistakes import Mistake, join_path

# A table of 721 x 721 angles would be larger; a real one is some 20 kB.
MOST_BYTES = 1_000_000
# All that a scene takes in becomes its text, and a result file holds 4 MB of that at most.
MOST_TOGETHER = 2_000_000


class TakenIn(NamedTuple):
    """A scene's values and text with the files it names written in, and what was wrong."""

    data: dict[str, Any]
    text: str
    mistakes: list[Mistake]


def take_in(data: dict[str, Any], text: str, folder: Path) -> TakenIn:
    """Replace every `lm63_file` of a scene's emitters by the text of that file in `folder`.

    A file with a mistake is left out of the values, so that the rest can still be checked.
    """
    section = data.get("emitters")
    groups: dict[str, Any] = section if isinstance(section, dict) else {}
    named = {
        name: group["lm63_file"]
        for name, group in groups.items()
        if isinstance(group, dict) and isinstance(group.get("lm63_file"), str)
    }
    if not named:
        return TakenIn(data, text, [])
    tables: dict[str, str] = {}
    mistakes = []
    for name, file in named.items():
        try:
            table = _read_beside(folder, file)
            if sum(map(len, tables.values())) + len(table) > MOST_TOGETHER:
                raise Lm63Error("with this one the scene's tables are larger than 2 MB together")
            read_lm63(table)
            tables[name] = table
        except Lm63Error as error:
            path = join_path("emitters", name, "lm63_file")
            mistakes.append(Mistake(path, str(error), file))
    written = dict(groups)
    for name in named:
        written[name] = {key: value for key, value in groups[name].items() if key != "lm63_file"}
        if name in tables:
            written[name]["lm63_text"] = tables[name]
    if not mistakes:
        from photonsim.scene.writing import Keys, rewritten

        values: dict[Keys, Any] = {
            ("emitters", name, "lm63_text"): table for name, table in tables.items()
        }
        text = rewritten(text, values, tuple(("emitters", name, "lm63_file") for name in named))
    return TakenIn(data | {"emitters": written}, text, mistakes)


def _read_beside(folder: Path, name: str) -> str:
    """Return the text of a file in the folder or below it. Raises Lm63Error if it can't be read."""
    posix, windows = PurePosixPath(name), PureWindowsPath(name)
    upwards = ".." in posix.parts or ".." in windows.parts
    if not name.strip() or upwards or posix.is_absolute() or windows.anchor:
        raise Lm63Error("must name a file beside the scene file or in a folder there")
    path = folder.joinpath(*windows.parts)
    try:
        if not path.resolve().is_relative_to(folder.resolve()):
            raise Lm63Error("leads out of the scene file's folder by a link")
        if path.is_dir():
            raise Lm63Error("this is a folder, not a file")
        if path.exists() and not path.is_file():  # a pipe would be waited for without end
            raise Lm63Error("this is no ordinary file")
        with path.open("rb") as file:
            content = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise Lm63Error("there is no such file beside the scene file") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise Lm63Error(f"the file can't be read: {reason}") from None
    if len(content) > MOST_BYTES:
        raise Lm63Error("the file is larger than 1 MB; that can't be an LM-63 table")
    # The standard says ASCII; names of places and makers come in other alphabets all the same.
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("latin-1")
    return "\n".join(text.splitlines()) + "\n"
