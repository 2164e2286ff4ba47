"""The table in README.md, made from what its first command leaves.

    photonsim compare scenes --out first-look
    python -m tests.documents.comparison first-look

writes the block of the comparison, with the version and the count of photons that it is of.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

from photonsim.results import Estimate
from photonsim.version import __version__
from tests.blocks import rewrite

README = Path(__file__).parents[2] / "README.md"
COMMAND = "python -m tests.documents.comparison first-look"
# By the name in comparison.csv: the heading here, and the unit there.
COLUMNS = {
    "collected_lm": ("collected, lm", " [lm]"),
    "uniformity": ("uniformity", ""),
    "darkest_edge": ("darkest edge", ""),
    "blur": ("blur, px", " [px]"),
}


def block(rows: list[dict[str, str]], version: str) -> str:
    """Return the table of a comparison's rows, as read from its CSV file."""
    (reference,) = [row for row in rows if row["verdict"] == "reference"]
    light = "collected_lm [lm]"
    headings = ["design", "light", *(heading for heading, _ in COLUMNS.values())]
    lines = [
        f"| {' | '.join(headings)} |",
        f"| --- |{' ---: |' * (len(headings) - 1)}",
    ]
    for row in rows:
        cells = [row["design"], f"× {float(row[light]) / float(reference[light]):.2f}"]
        for name, (_, unit) in COLUMNS.items():
            found = Estimate(float(row[name + unit]), float(row[f"{name} error{unit}"]))
            cells.append(found.text())
        lines.append(f"| {' | '.join(cells)} |")
    photons = int(rows[0]["photons"])
    said = f"Version {version}, {photons:,} photons a lamp. Light is against {reference['design']}."
    return "\n".join((*lines, "", said))


if __name__ == "__main__":
    with (Path(sys.argv[1]) / "comparison.csv").open(encoding="utf-8", newline="") as file:
        made = block(list(csv.DictReader(file)), __version__)
    rewrite(README, "comparison", COMMAND, made)
