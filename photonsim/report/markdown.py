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


def as_markdown(write_up: WriteUp, folder: str) -> str:
    """Return the write-up as Markdown; pictures are linked as folder/name.form."""
    parts = [f"# {_plain(write_up.title)}", _plain(write_up.subtitle)]
    for section in write_up.sections:
        parts.append(f"## {_plain(section.title)}")
        parts += [_block(block, folder) for block in section.blocks]
    return "\n\n".join(parts) + "\n"


def _block(block: Block, folder: str) -> str:
    if isinstance(block, Paragraph):
        return _plain(block.text)
    if isinstance(block, Bullets):
        return "\n".join(f"- {_plain(item)}" for item in block.items)
    if isinstance(block, Table):
        return _table(block)
    if isinstance(block, Picture):
        words = _plain(block.alternative).replace("[", "(").replace("]", ")")
        return f"![{words}]({folder}/{block.name}.{block.form})\n\n*{_plain(block.caption)}*"
    assert isinstance(block, Listing)
    return f"{_plain(block.summary)}:\n\n{_fenced(block.text)}"


def _table(block: Table) -> str:
    rule = ["---:" if k in block.numbers else "---" for k in range(len(block.heads))]
    rows = [block.heads, rule, *block.rows]
    return "\n".join("| " + " | ".join(_cell(cell) for cell in row) + " |" for row in rows)


def _cell(text: str) -> str:
    return _plain(text).replace("|", "\\|") or " "


def _fenced(text: str) -> str:
    """Fence a text with more backticks than it holds in a row."""
    fence = "```"
    while fence in text:
        fence += "`"
    return f"{fence}\n{text.rstrip()}\n{fence}"


def _plain(text: str) -> str:
    """Keep a scene's own words from acting as markup."""
    for sign in ("\\", "*", "_", "`", "<", "#"):
        text = text.replace(sign, "\\" + sign)
    return " ".join(text.split())
