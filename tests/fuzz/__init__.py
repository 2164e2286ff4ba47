"""Spoilt scene and result files by the thousand, through the commands: `python -m tests.fuzz`.

Each ends with exit code 0 or 2 and a message, within a time and a memory limit, and no result file
is lost or changed by a command that failed.
"""
