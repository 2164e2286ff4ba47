"""Blocks of the documents that a command writes, between two comments that say which."""

from __future__ import annotations

from pathlib import Path


def written_into(text: str, name: str, command: str, content: str) -> str:
    """Return the text of a page with one block as it should be.

    The block begins with `<!-- NAME: written by `COMMAND` -->`.
    """
    begin, end = f"<!-- {name}: written by `{command}` -->", f"<!-- end of {name} -->"
    before, begun, rest = text.partition(begin)
    _, ended, after = rest.partition(end)
    assert begun and ended, f"the page has no block {begin}"
    return f"{before}{begin}\n\n{content}\n\n{end}{after}"


def rewrite(page: Path, name: str, command: str, content: str) -> None:
    """Write one block of a page."""
    text = written_into(page.read_text(encoding="utf-8"), name, command, content)
    page.write_text(text, encoding="utf-8", newline="\n")
