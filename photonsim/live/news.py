"""News of a page: what it is told, the newest of each kind, to whoever listens now or later."""

from __future__ import annotations

import threading
from collections.abc import Generator
from typing import Any

# Kind and content.
Message = tuple[str, dict[str, Any]]
# Who listens hears after so long that there is nothing new; one who has left is noticed after two.
QUIET_S = 0.25


class News:
    """What was told last of each kind, by kind, with its number; and how many listen."""

    def __init__(self) -> None:
        self.told: dict[str, tuple[int, dict[str, Any]]] = {}
        self.listeners = 0
        self._count = 0
        self._is_closed = False
        self._changed = threading.Condition()

    def tell(self, kind: str, message: dict[str, Any]) -> None:
        """Put a message in the place of the last one of its kind."""
        with self._changed:
            self._count += 1
            self.told.pop(kind, None)
            self.told[kind] = (self._count, message)
            self._changed.notify_all()

    def listen(self) -> Generator[list[Message], None, None]:
        """Yield what is new, oldest first, from the last of each kind on; empty after a quiet time.

        Whoever is slow misses what a newer message took the place of.
        """
        heard = 0
        with self._changed:
            self.listeners += 1
        try:
            while not self._is_closed:
                with self._changed:
                    if self._count == heard and not self._is_closed:
                        self._changed.wait(QUIET_S)
                    new = [
                        (kind, one) for kind, (number, one) in self.told.items() if number > heard
                    ]
                    heard = self._count
                yield new
        finally:
            with self._changed:
                self.listeners -= 1

    def close(self) -> None:
        """Let whoever listens go on at once, for good."""
        with self._changed:
            self._is_closed = True
            self._changed.notify_all()
