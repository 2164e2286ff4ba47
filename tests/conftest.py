"""The table of checks at the end of a run; see tests/table.py."""

from tests.table import pytest_runtest_call, pytest_terminal_summary

__all__ = ["pytest_runtest_call", "pytest_terminal_summary"]
