"""The tables of keys and of figures of merit in the documents, written from what declares them.

    python -m tests.keys

writes both blocks; tests/documents/test_tables.py fails when one is out of date.
"""

from pathlib import Path

from photonsim.results import FIGURES
from photonsim.summary.keys_text import keys_markdown
from tests.blocks import rewrite

ROOT = Path(__file__).parents[1]
COMMAND = "python -m tests.keys"
BETTER = {1: "more", -1: "less", 0: ""}


def figures_markdown() -> str:
    """Return the table of the figures of merit."""
    rows = [
        f"| `{name}` | {figure.words} | {figure.unit} | {BETTER[figure.better]} |"
        for name, figure in FIGURES.items()
    ]
    head = ("| name | in words | unit | better |", "| --- | --- | --- | --- |")
    return "\n".join((*head, *rows))


BLOCKS = (
    (ROOT / "scenes" / "README.md", "keys", keys_markdown),
    (ROOT / "photonsim" / "results" / "README.md", "figures of merit", figures_markdown),
)

if __name__ == "__main__":
    for page, name, made in BLOCKS:
        rewrite(page, name, COMMAND, made())
