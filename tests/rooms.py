"""The rooms of the package as they stand: who imports from whom, in a picture and in a table.

    python -m tests.rooms

draws scenes/pictures/rooms.svg from the imports and writes the block of rooms in DEVELOPERS.md from
the first lines of the rooms. tests/test_rooms.py fails when either is out of date.
"""

from __future__ import annotations

import ast
from itertools import pairwise
from pathlib import Path

from tests.blocks import rewrite
from tests.layered import Arrows, laid_out, places, without_detours
from tests.test_architecture import FILES, PACKAGE, PLAIN, imports_of

ROOT = Path(__file__).parents[1]
PICTURE = ROOT / "scenes" / "pictures" / "rooms.svg"
DEVELOPERS = ROOT / "DEVELOPERS.md"
COMMAND = "python -m tests.rooms"

DOOR = "photonsim"
NAMES = {"codes": "kernel: codes, tallies"}
# The way of the light: the rooms it passes, and what it leaves each as.
WAY = {
    "scene": "TOML, read and frozen",
    "program": "flat arrays for the kernel",
    "engine": "batches of histories",
    "kernel": "the life of a photon",
    "results": "counts, figures, errors",
    "figures": "pictures",
    "report": "a page",
}

ROOM_WIDTH, WAY_WIDTH, BEND_WIDTH = 110.0, 176.0, 10.0
GAP, HEIGHT, STEP, MARGIN = 22.0, 46.0, 92.0, 24.0
INK, LINE, LIGHT, PAPER = "#1d2733", "#8493a3", "#b25a00", "#ffffff"


def room_of(path: Path) -> str:
    """Return the room that a file is in; what lies beside the rooms belongs to the door."""
    parts = path.relative_to(PACKAGE).parts
    return parts[0] if len(parts) > 1 else DOOR


def room_named(name: str) -> str:
    """Return the room that an import of photonsim leads to."""
    parts = [*name.split(".")[1:], "", ""]
    if parts[0] == "kernel" and parts[1] in PLAIN:
        return "codes"
    return parts[0] if parts[0] and (PACKAGE / parts[0]).is_dir() else DOOR


def arrows() -> Arrows:
    """Return of every room those it imports from; what is asked at the door is left out."""
    found: Arrows = {"codes": set(), "kernel": {"codes"}}
    for path in FILES:
        room = room_of(path)
        ours = {name for name in imports_of(path) if name.split(".")[0] == "photonsim"}
        targets = {room_named(name) for name in ours} - {room, DOOR}
        found.setdefault(room, set()).update(targets)
    return found


def drawn() -> str:
    """Return the picture of the rooms, as SVG."""
    layout = laid_out(without_detours(arrows()))
    widths = {
        node: WAY_WIDTH if node in (*WAY, *NAMES) else BEND_WIDTH if ">" in node else ROOM_WIDTH
        for layer in layout.layers
        for node in layer
    }
    x = places(layout, widths, GAP)
    left = min(x[node] - widths[node] / 2.0 for node in x) - MARGIN
    width = max(x[node] + widths[node] / 2.0 for node in x) + MARGIN - left
    x = {node: place - left for node, place in x.items()}
    top = len(layout.layers) - 1
    y = {
        node: MARGIN + HEIGHT / 2.0 + STEP * (top - level)
        for level, layer in enumerate(layout.layers)
        for node in layer
    }
    height = max(y.values()) + HEIGHT / 2.0 + MARGIN
    lines = [_arrow(way, x, y) for way in layout.ways]
    lines += [_box(node, x[node], y[node], widths[node]) for node in sorted(x) if ">" not in node]
    return "\n".join((*_head(width, height), *lines, "</svg>", ""))


def _head(width: float, height: float) -> tuple[str, ...]:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height:.0f}" '
        f'width="{width:.0f}" height="{height:.0f}" font-family="sans-serif" font-size="14">',
        "<title>The rooms of photonsim: an arrow leads from a room to one it imports from</title>",
        '<defs><marker id="tip" viewBox="0 0 8 8" refX="8" refY="4" markerWidth="7" '
        f'markerHeight="7" orient="auto"><path d="M0 0 L8 4 L0 8 z" fill="{LINE}"/></marker>'
        "</defs>",
        f'<rect width="100%" height="100%" fill="{PAPER}"/>',
    )


def _arrow(way: tuple[str, ...], x: dict[str, float], y: dict[str, float]) -> str:
    """Return an arrow through its bends, upright at each of them."""
    half = HEIGHT / 2.0
    path = [f"M{x[way[0]]:.1f} {y[way[0]] + half:.1f}"]
    at = y[way[0]] + half
    for last, node in pairwise(way):
        to, reach = y[node] - half, (y[node] - half - at) / 2.0
        path.append(
            f"C{x[last]:.1f} {at + reach:.1f} {x[node]:.1f} {to - reach:.1f} {x[node]:.1f} {to:.1f}"
        )
        at = y[node] + half
        if node != way[-1]:
            path.append(f"L{x[node]:.1f} {at:.1f}")
    return (
        f'<path d="{" ".join(path)}" fill="none" stroke="{LINE}" stroke-width="1.4" '
        'marker-end="url(#tip)"/>'
    )


def _box(node: str, x: float, y: float, width: float) -> str:
    colour = LIGHT if node in WAY else INK
    box = (
        f'<rect x="{x - width / 2.0:.1f}" y="{y - HEIGHT / 2.0:.1f}" width="{width:.0f}" '
        f'height="{HEIGHT:.0f}" rx="6" fill="{PAPER}" stroke="{colour}" stroke-width="1.6"/>'
    )
    name = NAMES.get(node, node)
    if node not in WAY:
        return box + _text(name, x, y + 5.0, INK, 14)
    number = list(WAY).index(node) + 1
    return (
        box
        + _text(f"{number}  {name}", x, y - 3.0, INK, 14)
        + _text(WAY[node], x, y + 14.0, LIGHT, 12)
    )


def _text(text: str, x: float, y: float, colour: str, size: int) -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="middle" fill="{colour}" '
        f'font-size="{size}">{text}</text>'
    )


def described() -> str:
    """Return the block of rooms in DEVELOPERS.md: the picture, and each room by its first line."""
    rows = ["| room | what it is for |", "| --- | --- |"]
    for path in FILES:
        if path.name == "__init__.py" and path.parent.parent == PACKAGE:
            words = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
            first, _, _ = words.partition("\n\n")
            rows.append(f"| `{room_of(path)}` | {' '.join(first.split())} |")
    picture = PICTURE.relative_to(ROOT).as_posix()
    return "\n".join((f"![The rooms, and the way of the light]({picture})", "", *rows))


if __name__ == "__main__":
    PICTURE.write_text(drawn(), encoding="utf-8", newline="\n")
    rewrite(DEVELOPERS, "rooms", COMMAND, described())
