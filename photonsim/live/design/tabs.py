"""The open pages: each a tab with steps of its own, found again in the folder's file."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field
from pathlib import Path

from photonsim.live.design.memory import History, Step
from photonsim.live.light.answers import Answers, Pinned
from photonsim.live.news import News
from photonsim.scene import Scene, SceneError

MOST_TABS = 12


@dataclass
class Tab:
    """An open page: its steps, the light of its pinned design, its answers, what it is told."""

    name: str
    history: History
    pinned: Pinned
    number: int = 0
    answers: Answers | None = None
    picture: Path | None = None
    news: News = field(default_factory=News)


def opened(tabs: dict[str, Tab], wanted: str, taken: set[str], base: Scene) -> Tab:
    """Return the tab of a page that opens: the one it had, else the last free one, else a new one.

    `taken` are those that other pages have open. The oldest of too many is dropped.
    """
    free = [
        name
        for name, tab in tabs.items()
        if name not in taken and (name == wanted or not tab.news.listeners)
    ]
    name = wanted if wanted in free else free[-1] if free and wanted not in taken else ""
    if not name:
        for old in free[: max(0, len(tabs) + 1 - MOST_TABS)]:
            del tabs[old]
        name, first = secrets.token_hex(8), Step.to(base, "the file")
        tabs[name] = Tab(name, History(steps=[first], place=0, pinned=first), Pinned(base))
    tabs[name] = tabs.pop(name)
    return tabs[name]


def tabs_of(histories: dict[str, History]) -> tuple[dict[str, Tab], str]:
    """Return the tabs that a file holds, and in words what of them can't be read any more."""
    tabs, remark = {}, ""
    for name, history in histories.items():
        try:
            history.now  # noqa: B018 - read at once, or the page could not open
            tabs[name] = Tab(name, history, Pinned(history.pinned.scene))
        except SceneError as error:
            remark = f"steps of an earlier page could not be read: {error.mistakes[0]}"
    return tabs, remark
