"""What a site is to whoever serves it: it acts, shows files, and leaves news in mailboxes."""

from __future__ import annotations

import threading
from typing import Any, NamedTuple, Protocol

Message = tuple[str, dict[str, Any]]


class Mailbox:
    """What one open page is to be told. A newer message takes the place of one not yet fetched."""

    def __init__(self) -> None:
        self._waiting: dict[str, dict[str, Any]] = {}
        self._changed = threading.Condition()
        self.is_closed = False

    def put(self, kind: str, message: dict[str, Any]) -> None:
        """Leave a message; one of its kind that waits is dropped."""
        with self._changed:
            self._waiting.pop(kind, None)
            self._waiting[kind] = message
            self._changed.notify()

    def fetch(self, patience_s: float) -> list[Message]:
        """Return what waits, oldest first; nothing if nothing comes within so many seconds."""
        with self._changed:
            self._changed.wait_for(lambda: self._waiting or self.is_closed, patience_s)
            found = list(self._waiting.items())
            self._waiting.clear()
            return found

    def close(self) -> None:
        """Let whoever waits go on at once, for good."""
        with self._changed:
            self.is_closed = True
            self._changed.notify_all()


class Content(NamedTuple):
    """A file to show: its bytes, what they are, and whether it is a document of its own.

    A document, such as a report, is shown by itself, without any right to run or send anything.
    """

    body: bytes
    kind: str
    is_document: bool = False


class Site(Protocol):
    """What is served."""

    def act(self, name: str, command: dict[str, Any]) -> dict[str, Any]:
        """Do what a page commands and return the answer. Raises KeyError for what is unknown."""

    def listen(self, tab: str) -> Mailbox:
        """Return what tells a page what is new. Raises KeyError for an unknown page."""

    def leave(self, tab: str, mailbox: Mailbox) -> None:
        """Stop telling a page."""

    def content(self, path: str) -> Content | None:
        """Return a file by its path, or nothing where there is none to show."""
