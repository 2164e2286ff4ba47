"""A write-up as Markdown, for pasting; pictures lie beside it as files."""

from __future__ import annotations

from photonsim.report.content import (
    Block,
    Bullets,
    Listing,
    Paragraph,
    Picture,
    Table,
    WriteUp,
)
from photonsim.words.escaping import markdown, markdown_line, markdown_table, visible


def as_markdown(write_up: WriteUp, folder: str) -> str:
    """Return the write-up as Markdown; pictures are linked as folder/name.form."""
    parts = [f"# {markdown(write_up.title)}", markdown_line(write_up.subtitle)]
    for section in write_up.sections:
        parts.append(f"## {markdown(section.title)}")
        parts += [_block(block, folder) for block in section.blocks]
    return "\n\n".join(parts) + "\n"


def _block(block: Block, folder: str) -> str:
    if isinstance(block, Paragraph):
        return markdown_line(block.text)
    if isinstance(block, Bullets):
        return "\n".join(f"- {markdown_line(item)}" for item in block.items)
    if isinstance(block, Table):
        return markdown_table([block.heads, *block.rows], block.left)
    if isinstance(block, Picture):
        words, caption = markdown(block.alternative), markdown(block.caption)
        return f"![{words}]({folder}/{block.name}.{block.form})\n\n*{caption}*"
    assert isinstance(block, Listing)
    return f"{markdown_line(block.summary)}:\n\n{_fenced(block.text)}"


def _fenced(text: str) -> str:
    """Fence a text with more backticks than it holds in a row."""
    text, fence = visible(text), "```"
    while fence in text:
        fence += "`"
    return f"{fence}\n{text.rstrip()}\n{fence}"
