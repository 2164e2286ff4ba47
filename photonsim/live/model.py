"""The model of the page: designs, what is kept, what is saved. It knows nothing of HTTP.

Each open page is a tab with steps of its own; what is kept belongs to all of them.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Generator
from functools import partial
from pathlib import Path
from typing import Any

from photonsim.live.design import parts
from photonsim.live.design.controls import groups_of, value_typed
from photonsim.live.design.memory import MOST_KEPT, Kept, Memory, Step, noted, remember, remembered
from photonsim.live.design.tabs import Tab, opened, tabs_of
from photonsim.live.design.watching import Watched
from photonsim.live.errands import COMMANDS, Errands
from photonsim.live.light.answers import Answers, Pinned
from photonsim.live.light.shown import scale_of_maps
from photonsim.live.light.side import side_of
from photonsim.live.light.tracing import Tracing
from photonsim.live.news import Message
from photonsim.results import FIGURES, ResultError, Shown, shown_in
from photonsim.results.files.writing import write_file
from photonsim.scene import Mistake, Scene, SceneError, parse_scene
from photonsim.scene.paths import keys_of

NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,59}")
WATCH_S = 1.0
PICTURES = (".png", ".jpg", ".jpeg")
Command = dict[str, Any]


class Model:
    """All tabs of one scene in one folder.

    Raises ResultError where the folder's file of the page can be neither read nor set aside.
    """

    def __init__(self, scene: Scene, name: str, folder: Path, file: Path | None = None) -> None:
        self.name, self.folder = name, folder
        self._base = scene
        self._path = folder / f"{name}.live.json"
        memory, damage = remembered(self._path)
        self._kept = {one.name: one for one in memory.kept}
        self._tabs, older = tabs_of(memory.tabs)
        self._remark = damage or older
        self._lock = threading.RLock()
        self._watched = Watched(file)
        self._errands = Errands(folder / f"{name}-kept", partial(self._tell_all, "errand"))
        self._tracing = Tracing(self._tell)
        self._is_dirty = False
        self._ending = threading.Event()
        threading.Thread(target=self._watch, name="live watch", daemon=True).start()

    def act(self, name: str, command: Command) -> dict[str, Any]:
        """Do what a page commands; what is wrong with it comes back as mistakes in words.

        Raises KeyError for a command or page that there is not.
        """
        action = getattr(self, f"_do_{name}", None)
        if action is None:
            raise KeyError("command of this name")
        with self._lock:
            tab = self._opened(command) if name == "open" else self._tab(command.get("tab"))
            try:
                return dict(action(tab, command))
            except SceneError as error:
                mistakes = error.mistakes
            except ResultError as error:
                mistakes = [Mistake("", str(error))]
        told = [(one.path, str(one).removeprefix(f"{one.path}: ")) for one in mistakes]
        return {"mistakes": [{"path": path, "words": words} for path, words in told]}

    def listen(self, tab: str) -> Generator[list[Message], None, None]:
        """Yield what is new for a tab, from what was told last on. Raises KeyError."""
        with self._lock:
            return self._tab(tab).news.listen()

    def content(self, name: str) -> tuple[bytes, str] | None:
        """Return a file that a command wrote, and what kind it is."""
        return self._errands.content(name)

    def close(self) -> None:
        """Write what is not written yet, and end all threads."""
        self._ending.set()
        self._errands.stop()
        self._tracing.close()
        with self._lock:
            self._write()
            for tab in self._tabs.values():
                tab.news.close()

    # What a page commands.

    def _do_open(self, tab: Tab, command: Command) -> dict[str, Any]:
        told = {"tab": tab.name, "scene": self.name, "remark": self._remark}
        told |= scale_of_maps() | {"pictures": sorted(self._pictures())}
        return told | self._state(tab)

    def _do_picture(self, tab: Tab, command: Command) -> dict[str, Any]:
        """Show a picture of the folder as the audience would see it; the test chart for none."""
        tab.picture = self._pictures().get(str(command.get("name")))
        return self._changed(tab)

    def _do_set(self, tab: Tab, command: Command) -> dict[str, Any]:
        """Set a value by its path, as typed or as a slider has it; one drag is one step."""
        path = str(command["path"])
        value = value_typed(command.get("value"), str(command.get("kind", "")), path)
        scene, (room, *keys) = tab.history.now, keys_of(path)
        if room == "train" and keys[1:] == ["kind"]:
            return self._put(tab, parts.replaced(scene, str(keys[0]), str(value)))
        return self._put(tab, scene.with_numbers({path: value}), mark=str(command.get("mark", "")))

    def _do_undo(self, tab: Tab, command: Command) -> dict[str, Any]:
        tab.history.go(-1)
        return self._changed(tab)

    def _do_redo(self, tab: Tab, command: Command) -> dict[str, Any]:
        tab.history.go(+1)
        return self._changed(tab)

    def _do_start(self, tab: Tab, command: Command) -> dict[str, Any]:
        """Start from the file, a variant of it, or a design that was kept."""
        place, name = command.get("from"), str(command.get("name", ""))
        if place == "variant":
            return self._put(tab, self._base.variant(name), f"variant {name}")
        if place == "kept":
            return self._put(tab, parse_scene(self._kept_named(name).text), f"kept {name}")
        self._base = self._watched.latest(self._base)
        return self._put(tab, self._base, "the file")

    def _do_add(self, tab: Tab, command: Command) -> dict[str, Any]:
        path, kind = str(command["path"]), str(command.get("kind", ""))
        return self._put(tab, parts.added(tab.history.now, path, kind))

    def _do_remove(self, tab: Tab, command: Command) -> dict[str, Any]:
        return self._put(tab, tab.history.now.with_numbers({str(command["path"]): False}))

    def _do_swap(self, tab: Tab, command: Command) -> dict[str, Any]:
        """Let a part and the next one change places."""
        return self._put(tab, parts.swapped(tab.history.now, str(command["path"])))

    def _do_pin(self, tab: Tab, command: Command) -> dict[str, Any]:
        tab.pinned = Pinned(tab.history.now)
        tab.history.pinned = Step.to(tab.history.now, tab.history.undone_next)
        return self._changed(tab)

    def _do_keep(self, tab: Tab, command: Command) -> dict[str, Any]:
        name, result = _named(command), tab.answers.result if tab.answers else None
        if result is None:
            raise ResultError("wait for its first figures")
        if name in self._kept:
            raise ResultError(f"there is a kept design '{name}' already; choose another name")
        if len(self._kept) >= MOST_KEPT:
            raise ResultError(f"more than {MOST_KEPT} can't be kept; forget some")
        self._kept[name] = noted(name, result)
        return self._kept_changed(tab)

    def _do_forget(self, tab: Tab, command: Command) -> dict[str, Any]:
        self._kept.pop(self._kept_named(str(command.get("name"))).name)
        return self._kept_changed(tab)

    def _do_save(self, tab: Tab, command: Command) -> dict[str, Any]:
        """Save the design as a scene; what is there already is replaced only if asked to."""
        target = self.folder / f"{_named(command)}.toml"
        if target.is_symlink() or (target.exists() and command.get("over") is not True):
            return {"exists": target.name}
        write_file(target, tab.history.now.text.encode())
        return {"saved": target.name}

    def _do_run(self, tab: Tab, command: Command) -> dict[str, Any]:
        designs = {name: one.text for name, one in self._kept.items()}
        self._errands.run(str(command.get("command")), designs)
        return {}

    def _do_stop(self, tab: Tab, command: Command) -> dict[str, Any]:
        self._errands.stop()
        return {}

    # What follows from it.

    def _opened(self, command: Command) -> Tab:
        """Return the tab of a page that opens, and let its light be traced if it is not yet."""
        taken = {str(one) for one in command.get("taken") or ()}
        tab = opened(self._tabs, str(command.get("tab") or ""), taken, self._base)
        if "answer" not in tab.news.told:
            self._wish(tab)
        return tab

    def _pictures(self) -> dict[str, Path]:
        """Return the pictures of the folder by name."""
        found = [path for path in self.folder.iterdir() if path.suffix.lower() in PICTURES]
        return {path.name: path for path in found if path.is_file() and not path.is_symlink()}

    def _tab(self, name: Any) -> Tab:
        """Return the tab of a name. Raises KeyError."""
        if (tab := self._tabs.get(str(name))) is None:
            raise KeyError("page of this name")
        return tab

    def _put(self, tab: Tab, scene: Scene, words: str = "", mark: str = "") -> dict[str, Any]:
        tab.history.put(scene, words, mark)
        return self._changed(tab)

    def _changed(self, tab: Tab) -> dict[str, Any]:
        """Trace what is shown now, and return the page's state."""
        self._is_dirty = True
        self._wish(tab)
        return self._state(tab)

    def _kept_changed(self, tab: Tab) -> dict[str, Any]:
        self._write()
        self._tell_all("kept", {"kept": self._kept_rows()})
        return self._state(tab)

    def _kept_named(self, name: str) -> Kept:
        if name not in self._kept:
            raise ResultError(f"there is no kept design '{name}'")
        return self._kept[name]

    def _wish(self, tab: Tab) -> None:
        tab.number += 1
        tab.answers = Answers(tab.history.now, tab.pinned, tab.picture)
        self._tracing.want(tab.name, tab.number, tab.answers.jobs())

    def _state(self, tab: Tab) -> dict[str, Any]:
        """Return all that a page shows but for what is traced."""
        scene = tab.history.now
        return {
            "number": tab.number,
            "title": scene.title or self.name,
            "groups": groups_of(scene),
            "side": side_of(scene),
            "undo": tab.history.undone_next,
            "redo": tab.history.redone_next,
            "pinned": tab.history.pinned.words,
            "is_pinned": scene.is_same_lamp(tab.pinned.scene),
            "variants": list(self._base.variants),
            "additions": parts.additions(scene),
            "kept": self._kept_rows(),
            "commands": list(COMMANDS.items()),
        }

    def _kept_rows(self) -> dict[str, Any]:
        figures = [FIGURES[name] for name in shown_in(Shown.COMPARE)]
        rows = [
            {
                "name": one.name,
                "photons": one.photons,
                "cells": [one.estimate(figure.name).text(figure.scale) for figure in figures],
            }
            for one in self._kept.values()
        ]
        return {"heads": [figure.heading for figure in figures], "rows": rows}

    def _tell(self, tab: str, number: int, told: dict[str, Any]) -> None:
        with self._lock:
            for kind, message in told.items() if tab in self._tabs else ():
                self._tabs[tab].news.tell(kind, message | {"number": number})

    def _tell_all(self, kind: str, message: dict[str, Any]) -> None:
        with self._lock:
            for tab in self._tabs.values():
                tab.news.tell(kind, message)

    def _write(self) -> None:
        tabs = {name: tab.history for name, tab in self._tabs.items()}
        remember(self._path, Memory(kept=list(self._kept.values()), tabs=tabs))
        self._is_dirty = False

    def _watch(self) -> None:
        """Write what changed, and look whether the scene's file did, once a second."""
        while not self._ending.wait(WATCH_S):
            words = self._watched.changed()
            with self._lock:
                try:
                    if self._is_dirty:
                        self._write()
                except ResultError as error:
                    words = str(error)
                if words:
                    self._tell_all("file", {"words": words})


def _named(command: Command) -> str:
    name = str(command.get("name", "")).strip().replace(" ", "_")
    if not NAME.fullmatch(name):
        raise ResultError(
            "a name is up to 60 of a-z, 0-9, _ and -, and begins with none of the last"
        )
    return name
