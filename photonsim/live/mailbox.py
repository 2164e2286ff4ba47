"""Mailboxes: what a page is still to be told, the newest of each kind."""

from __future__ import annotations

import threading
from typing import Any

Message = tuple[str, dict[str, Any]]


class Mailbox:
    """What one open page is to be told. A newer message takes the place of one not yet fetched."""

    def __init__(self) -> None:
        self._waiting: dict[str, dict[str, Any]] = {}
        self._changed = threading.Condition()
        self._is_closed = False

    def put(self, kind: str, message: dict[str, Any]) -> None:
        """Leave a message; one of its kind that waits is dropped."""
        with self._changed:
            self._waiting.pop(kind, None)
            self._waiting[kind] = message
            self._changed.notify()

    def fetch(self, patience_s: float) -> list[Message]:
        """Return what waits, oldest first; nothing if nothing comes within so many seconds."""
        with self._changed:
            self._changed.wait_for(lambda: self._waiting or self._is_closed, patience_s)
            found = list(self._waiting.items())
            self._waiting.clear()
            return found

    def close(self) -> None:
        """Let whoever waits go on at once, for good."""
        with self._changed:
            self._is_closed = True
            self._changed.notify_all()

    @property
    def is_closed(self) -> bool:
        """Whether nothing more will come."""
        return self._is_closed
