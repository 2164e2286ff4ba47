"""The table of checks at the end of a run, see tests/table.py; a small lamp to change."""

from tests.small_lamps import lamp
from tests.table import pytest_runtest_call, pytest_terminal_summary

__all__ = ["lamp", "pytest_runtest_call", "pytest_terminal_summary"]
