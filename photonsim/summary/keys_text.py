"""The keys of a scene file as text for a terminal and as tables for a page."""

from __future__ import annotations

import difflib
import textwrap

from photonsim.scene import Mistake, SceneError
from photonsim.scene.keys import Key, Section, sections, sections_named, words_to_ask_by
from photonsim.words.escaping import markdown_line
from photonsim.words.text import LINE


def keys_text(word: str | None = None) -> str:
    """Text about all keys, or those of a table, a kind of part or a name; 80 columns.

    Raises SceneError for a word that names none of them, with the nearest.
    """
    found = sections() if word is None else sections_named(word)
    if not found:
        near = difflib.get_close_matches(str(word).lower(), words_to_ask_by(), n=1, cutoff=0.5)
        names = ", ".join(section.name for section in sections())
        advice = f"did you mean {near[0]}?" if near else f"there are the tables {names}"
        problem = "is no table, kind of part or key of a scene file"
        raise SceneError([Mistake(str(word), problem, advice=advice)], "the keys")
    return "\n\n".join(map(_section_text, found))


def _section_text(section: Section) -> str:
    heading = section.heading or "At the head of the file"
    return "\n".join([heading, *map(_key_text, section.keys)])


def _key_text(key: Key) -> str:
    left_out = {"needed": "needed", "left out": "may be left out", "": ""}
    default = left_out.get(key.default, f"{key.default} if left out")
    facts = (key.unit, key.allowed, default)
    head = textwrap.fill(
        f"{key.name:<20} {'; '.join(filter(None, facts))}",
        LINE,
        initial_indent="  ",
        subsequent_indent=" " * 23,
    )
    words = textwrap.fill(key.words, LINE, initial_indent=" " * 6, subsequent_indent=" " * 6)
    return f"{head}\n{words}"


def keys_markdown() -> str:
    """Tables of all keys for a page, one for each table of a scene file."""
    return "\n\n".join(map(_section_markdown, sections()))


def _section_markdown(section: Section) -> str:
    heading = f"`{section.heading}`" if section.heading else "At the head of the file"
    rows = ["| key | unit | may be | left out | what it is |", "| --- | --- | --- | --- | --- |"]
    for key in section.keys:
        default = "-" if key.default in ("left out", "") else key.default
        cells = (key.unit, key.allowed, default, key.words)
        rows.append(f"| `{key.name}` | {' | '.join(map(markdown_line, cells))} |")
    return "\n".join([f"**{heading}**", "", *rows])
