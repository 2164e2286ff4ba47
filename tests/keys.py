"""The tables of keys on the page about scene files, written from the models.

    python -m tests.keys

writes the block of keys; tests/scene/test_keys.py fails when it is out of date.
"""

from pathlib import Path

from photonsim.summary.keys_text import keys_markdown

PAGE = Path(__file__).parents[1] / "scenes" / "README.md"
BEGIN = "<!-- keys: written by `python -m tests.keys` -->"
END = "<!-- end of keys -->"


def written_into(text: str) -> str:
    """Return the text of a page with the block of keys as it should be."""
    before, begin, rest = text.partition(BEGIN)
    _, end, after = rest.partition(END)
    assert begin and end, "the page has no block of keys"
    return f"{before}{BEGIN}\n\n{keys_markdown()}\n\n{END}{after}"


if __name__ == "__main__":
    text = written_into(PAGE.read_text(encoding="utf-8"))
    PAGE.write_text(text, encoding="utf-8", newline="\n")
