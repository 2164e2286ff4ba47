"""The open pages: each a tab with steps of its own, found again in the folder's file."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from typing import Any

from photonsim.arrays import Reals
from photonsim.live.design.history import History, Step
from photonsim.live.design.memory import MOST_TABS, Kept, KeptStep, KeptTab, Memory
from photonsim.live.light.answers import Pinned
from photonsim.live.site import Mailbox
from photonsim.results import Result
from photonsim.scene import Scene, SceneError, parse_scene


@dataclass
class Tab:
    """An open page: its steps, the pinned design, its last answer and who listens."""

    name: str
    history: History
    pinned: Pinned
    pinned_label: str
    number: int = 0
    result: Result | None = None
    picture: Reals | None = None
    shown: bytes = b""
    mailboxes: set[Mailbox] = field(default_factory=set)
    last: dict[str, dict[str, Any]] = field(default_factory=dict)

    def tell(self, kind: str, message: dict[str, Any]) -> None:
        """Tell everyone who listens, now or later."""
        self.last[kind] = message
        for mailbox in self.mailboxes:
            mailbox.put(kind, message)


def opened(tabs: dict[str, Tab], wanted: str, taken: set[str], base: Scene) -> Tab:
    """Return the tab of a page that opens: the one it had, else the last free one, else a new one.

    `taken` are those that other pages have open. The oldest of too many is dropped.
    """
    free = [
        name
        for name, tab in tabs.items()
        if name not in taken and (name == wanted or not tab.mailboxes)
    ]
    name = wanted if wanted in free else free[-1] if free and wanted not in taken else ""
    if not name:
        for old in free[: max(0, len(tabs) + 1 - MOST_TABS)]:
            del tabs[old]
        name = secrets.token_hex(8)
        tabs[name] = Tab(name, History([Step(base, "the file")]), Pinned(base), "the file")
    tabs[name] = tabs.pop(name)
    return tabs[name]


def tabs_of(memory: Memory) -> tuple[dict[str, Tab], str]:
    """Return the tabs that a file holds, and in words what of them can't be read any more."""
    tabs, remark = {}, ""
    for name, found in memory.tabs.items():
        try:
            steps = [Step(parse_scene(one.text), one.words) for one in found.steps]
            pinned = Pinned(parse_scene(found.pinned.text))
        except SceneError as error:
            remark = f"steps of an earlier page could not be read: {error.mistakes[0]}"
        else:
            tabs[name] = Tab(name, History(steps, found.place), pinned, found.pinned.words)
    return tabs, remark


def memory_of(kept: list[Kept], tabs: dict[str, Tab]) -> Memory:
    """Return what the file is to hold."""
    found = {}
    for name, tab in tabs.items():
        steps = [KeptStep(words=step.words, text=step.scene.text) for step in tab.history.steps]
        pinned = KeptStep(words=tab.pinned_label, text=tab.pinned.scene.text)
        found[name] = KeptTab(steps=steps, place=tab.history.place, pinned=pinned)
    return Memory(kept=kept, tabs=found)
