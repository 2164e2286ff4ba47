"""The documents, read: their blocks of code, what a mark before a block says, and inline code.

A comment on the line before a block says what it is for:

    <!-- file: NAME -->          the block is that file
    <!-- append: NAME -->        the block goes to the end of that file
    <!-- only parsed: WHY -->    the block is not run
"""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
PAGES = ("*.md", "scenes/*.md", "scenes/backlight/*.md", "benchmarks/*.md", "photonsim/*/README.md")
DOCUMENTS = sorted(path for pattern in PAGES for path in ROOT.glob(pattern))
_BLOCK = re.compile(r"(?m)(?:^<!-- ([^\n]*) -->\n)?^```(\w*)\n(.*?)^```$", re.DOTALL)
_INLINE = re.compile(r"(?<!`)`([^`\n]+(?:\n[^`\n]+)?)`(?!`)")


class Block(NamedTuple):
    """A block of code: its language, its text, and what the mark before it says."""

    language: str
    text: str
    mark: str = ""
    argument: str = ""


def name_of(document: Path) -> str:
    """Return the name of a document, from the top of the tree."""
    return document.relative_to(ROOT).as_posix()


def blocks(document: Path) -> list[Block]:
    """Return the blocks of code of a document, in order."""
    found = []
    for mark, language, text in _BLOCK.findall(document.read_text(encoding="utf-8")):
        kind, _, argument = mark.partition(": ")
        found.append(Block(language, text, kind, argument))
    return found


def prose(document: Path) -> str:
    """Return the text of a document without its blocks of code."""
    return _BLOCK.sub("", document.read_text(encoding="utf-8"))


def inline(document: Path) -> list[str]:
    """Return what stands in a document as code within a line."""
    return [" ".join(code.split()) for code in _INLINE.findall(prose(document))]


def commands(text: str) -> Iterator[list[str]]:
    """Yield the commands of a block for a shell, as words."""
    for line in text.replace("\\\n", " ").splitlines():
        words: list[str] = []
        for word in shlex.split(line, comments=True):
            if word == "&&":
                yield words
                words = []
            else:
                words.append(word)
        if words:
            yield words


def verb_and_rest(words: list[str]) -> list[str] | None:
    """Return what follows the name of our program, or None for a command of another."""
    return words[1:] if words and Path(words[0]).name == "photonsim" else None
