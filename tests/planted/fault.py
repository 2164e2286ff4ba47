"""What a planted fault is."""

from __future__ import annotations

from typing import NamedTuple


class Fault(NamedTuple):
    """One exact replacement in one file, and the tests (pytest arguments) that must fail."""

    name: str
    path: str
    right: str
    wrong: str
    tests: tuple[str, ...]
