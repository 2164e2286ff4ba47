"""Faults planted one at a time into a copy of the program: `python -m tests.planted`.

Each must be caught by a test of the area it lies in; the report stands in report.md beside this.
"""
