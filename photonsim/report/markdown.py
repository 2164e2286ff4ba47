"""A write-up as Markdown, for pasting; pictures lie beside it as files."""

from __future__ import annotations

from photonsim.report.content import (
    Block,
    Bullets,
    Folded,
    Heading,
    Listing,
    Paragraph,
    Picture,
    Table,
    WriteUp,
)
from photonsim.words.escaping import markdown, markdown_line, markdown_table, visible


def as_markdown(write_up: WriteUp, folder: str) -> str:
    """Return the write-up as Markdown; pictures are linked as folder/name.png.

    What is folded away in the page is named at the end of its section.
    """
    parts = [f"# {markdown(write_up.title)}", markdown_line(write_up.subtitle)]
    parts.append(markdown_line(write_up.answer))
    for section in write_up.sections:
        parts.append(f"## {markdown(section.title)}")
        parts += [_block(one, folder) for one in section.blocks if not isinstance(one, Folded)]
        if folded := [one.summary for one in section.blocks if isinstance(one, Folded)]:
            parts.append(markdown_line(f"More in the HTML page: {'; '.join(folded)}."))
    return "\n\n".join(parts) + "\n"


def _block(block: Block, folder: str) -> str:
    match block:
        case Heading():
            return f"### {markdown(block.text)}"
        case Paragraph():
            return markdown_line(block.text)
        case Bullets():
            return "\n".join(f"- {markdown_line(item)}" for item in block.items)
        case Table():
            return markdown_table([block.heads, *block.rows], block.left)
        case Picture():
            words, caption = markdown(block.alternative), markdown(block.caption)
            return f"![{words}]({folder}/{block.name}.png)\n\n*{caption}*"
    assert isinstance(block, Listing)
    return _fenced(block.text)


def _fenced(text: str) -> str:
    """Fence a text with more backticks than it holds in a row."""
    text, fence = visible(text), "```"
    while fence in text:
        fence += "`"
    return f"{fence}\n{text.rstrip()}\n{fence}"
