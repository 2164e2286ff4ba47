"""What a write-up consists of, whatever form it is written in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Heading:
    """A heading within a section; `anchor` is its name in links."""

    text: str
    anchor: str
    kind: str = "heading"


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
    """A matplotlib figure with a name for its file, a caption, and words for who can't see it."""

    figure: Any
    name: str
    caption: str
    alternative: str
    kind: str = "picture"


@dataclass(frozen=True)
class Listing:
    """Text to be read or copied as it is."""

    text: str
    kind: str = "listing"


Shown = Heading | Paragraph | Bullets | Table | Picture | Listing


@dataclass(frozen=True)
class Folded:
    """Blocks under a summary by which they can be unfolded; left out of Markdown."""

    summary: str
    blocks: tuple[Shown, ...]
    kind: str = "folded"


Block = Shown | Folded


@dataclass(frozen=True)
class Section:
    """A part of the write-up under a heading; `anchor` is its name in links."""

    title: str
    anchor: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class WriteUp:
    """The whole: a title, a line under it, the answer in short, and the sections."""

    title: str
    subtitle: str
    answer: str
    sections: tuple[Section, ...]

    def pictures(self, folded: bool = True) -> Iterator[Picture]:
        """Yield the pictures in order, with or without those that are folded away."""
        for section in self.sections:
            for block in section.blocks:
                inside = block.blocks if isinstance(block, Folded) and folded else (block,)
                yield from (one for one in inside if isinstance(one, Picture))


def table(rows: Sequence[Sequence[str]], left: Sequence[int]) -> Table:
    """Return rows, the headings first, as a table; columns in `left` are set to the left."""
    heads, *body = rows
    return Table(tuple(heads), tuple(map(tuple, body)), frozenset(left))
