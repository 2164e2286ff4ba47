"""What a write-up consists of, whatever form it is written in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Paragraph:
    """A paragraph of plain text."""

    text: str
    kind: str = "paragraph"


@dataclass(frozen=True)
class Bullets:
    """A list of sentences."""

    items: tuple[str, ...]
    kind: str = "bullets"


@dataclass(frozen=True)
class Table:
    """A table of text; all columns but those in `left` are set to the right."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    left: frozenset[int]
    kind: str = "table"


@dataclass(frozen=True)
class Picture:
    """A matplotlib figure with a name for its file, a caption, and words for who can't see it.

    `form` is 'svg', or 'png' for figures that are mostly maps.
    """

    figure: Any
    name: str
    caption: str
    alternative: str
    form: str = "svg"
    kind: str = "picture"


@dataclass(frozen=True)
class Listing:
    """Text to be read or copied as it is, under a summary by which it can be unfolded."""

    summary: str
    text: str
    kind: str = "listing"


Block = Paragraph | Bullets | Table | Picture | Listing


@dataclass(frozen=True)
class Section:
    """A part of the write-up under a heading; `anchor` is its name in links."""

    title: str
    anchor: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class WriteUp:
    """The whole: a title, a line under it, and the sections."""

    title: str
    subtitle: str
    sections: tuple[Section, ...]

    def pictures(self) -> Iterator[Picture]:
        """Yield all pictures in order."""
        for section in self.sections:
            yield from (block for block in section.blocks if isinstance(block, Picture))


def table(heads: Sequence[str], rows: Sequence[Sequence[str]], left: Sequence[int]) -> Table:
    """Return a table whose columns are set to the right but for those in `left`."""
    return Table(tuple(heads), tuple(map(tuple, rows)), frozenset(left))
