"""Readings of a light meter at the finished lamp, from a CSV file.

One line a reading, with headings; a comma or a semicolon between cells (with semicolons, decimal
commas are understood); lines that begin with # are left out. Columns:

    place             panel, screen or sheet
    x_mm, y_mm        panel: where the meter's cell lay, in the panel's plane with the panel taken
                      out; screen: the point of the panel in whose image the cell lay
    picture_width_mm  screen: the width of the whole picture
    part              sheet: the name of the sheet in the scene
    angle_deg         sheet: the angle from the beam of a narrow lamp or laser pointer straight
                      through the sheet; the cell faces the spot, at one distance for all angles
    lux               what the meter showed, stray light taken off
    uncertainty_lux   one standard deviation of that
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import Literal

from photonsim.scene import Mistake, Scene, SceneError
from photonsim.scene.sheet import Sheet

NEEDED = {
    "panel": ("x_mm", "y_mm"),
    "screen": ("x_mm", "y_mm", "picture_width_mm"),
    "sheet": ("part", "angle_deg"),
}
ALWAYS = ("lux", "uncertainty_lux")
COLUMNS = tuple(dict.fromkeys(["place", *NEEDED["screen"], *NEEDED["sheet"], *ALWAYS]))
MOST_READINGS = 10_000
MOST_BYTES = 4_000_000


@dataclass(frozen=True)
class Reading:
    """One reading in lux with its standard uncertainty; what does not belong to its place is 0.

    >>> from photonsim import Reading
    >>> Reading("panel", lux=13_000, uncertainty_lux=400, x_mm=-30).lux
    13000
    """

    place: Literal["panel", "screen", "sheet"]
    lux: float
    uncertainty_lux: float
    x_mm: float = 0.0
    y_mm: float = 0.0
    picture_width_mm: float = 0.0
    part: str = ""
    angle_deg: float = 0.0


def load_readings(path: str | PathLike[str], scene: Scene) -> tuple[Reading, ...]:
    """Read a file of readings that belong to a scene. Raises SceneError with every mistake."""
    where = str(path)
    try:
        if Path(path).exists() and not Path(path).is_file():
            raise OSError(0, "it is a folder or no ordinary file")
        if Path(path).stat().st_size > MOST_BYTES:
            raise OSError(0, "the file is larger than 4 MB")
        text = Path(path).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "it is not UTF-8 text"
        raise SceneError([Mistake("", f"the readings can't be read: {reason}")], where) from None
    return parse_readings(text, scene, where)


def parse_readings(text: str, scene: Scene, where: str = "readings") -> tuple[Reading, ...]:
    """Read readings from CSV text. Raises SceneError with every mistake, each with its line."""
    lines = [
        (number, line)
        for number, line in enumerate(text.splitlines(), 1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if len(lines) < 2:
        problem = "there are no readings"
        raise SceneError([Mistake("", problem, advice="one heading line, one line each")], where)
    if len(lines) > MOST_READINGS + 1:
        raise SceneError([Mistake("", f"more than {MOST_READINGS:,} readings")], where)
    separator = ";" if lines[0][1].count(";") > lines[0][1].count(",") else ","
    rows = [_cells(line, separator, f"line {number}", where) for number, line in lines]
    heads = [head.strip() for head in rows[0]]
    _check_heads(heads, where)
    mistakes: list[Mistake] = []
    readings = []
    for (number, _), row in zip(lines[1:], rows[1:], strict=True):
        cells = dict(zip(heads, (cell.strip() for cell in row), strict=False))
        found = _line_mistakes(cells, f"line {number}", separator == ";", scene)
        mistakes += found
        if not found:
            readings.append(_reading(cells, separator == ";"))
    if mistakes:
        raise SceneError(mistakes, where)
    return tuple(readings)


def _cells(line: str, separator: str, place: str, where: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=separator))
    except csv.Error as error:
        raise SceneError([Mistake(place, f"this is no line of CSV: {error}")], where) from None


def _check_heads(heads: list[str], where: str) -> None:
    mistakes = [
        Mistake(head, "unknown column", advice=f"there are {', '.join(COLUMNS)}")
        for head in heads
        if head not in COLUMNS
    ]
    needed = ("place", *ALWAYS)
    mistakes += [Mistake(head, "missing column") for head in needed if head not in heads]
    if mistakes:
        raise SceneError(mistakes, where)


def _line_mistakes(
    cells: dict[str, str], line: str, decimal_comma: bool, scene: Scene
) -> list[Mistake]:
    place = cells.get("place", "")
    if place not in NEEDED:
        return [Mistake(f"{line}, place", f"must be one of {', '.join(NEEDED)}", place)]
    found = []
    for head in (*NEEDED[place], *ALWAYS):
        cell = cells.get(head, "")
        if not cell:
            found.append(Mistake(f"{line}, {head}", f"missing; a reading at the {place} needs it"))
        elif head != "part" and _number(cell, decimal_comma) is None:
            found.append(Mistake(f"{line}, {head}", "is not a number", cell))
    return found or _value_mistakes(_reading(cells, decimal_comma), line, scene)


def _value_mistakes(reading: Reading, line: str, scene: Scene) -> list[Mistake]:
    found = []

    def refuse(head: str, problem: str) -> None:
        found.append(Mistake(f"{line}, {head}", problem, getattr(reading, head)))

    if reading.lux < 0.0:
        refuse("lux", "must not be negative")
    if reading.uncertainty_lux <= 0.0:
        refuse("uncertainty_lux", "must be greater than 0; 3 to 10 % of the reading is usual")
    if reading.place == "sheet":
        if not isinstance(scene.train.get(reading.part), Sheet):
            sheets = [name for name, part in scene.train.items() if isinstance(part, Sheet)]
            refuse("part", f"is no sheet of the scene; there are {', '.join(sheets) or 'none'}")
        if not 0.0 <= reading.angle_deg < 89.0:
            refuse("angle_deg", "must be from 0 to less than 89")
        return found
    panel = scene.panel
    for head, extent in (("x_mm", panel.active_width_mm), ("y_mm", panel.active_height_mm)):
        if abs(getattr(reading, head)) > 0.5 * extent:
            refuse(head, f"lies outside the picture area, ±{0.5 * extent:g} mm from its centre")
    if reading.place == "screen" and reading.picture_width_mm <= 0.0:
        refuse("picture_width_mm", "must be greater than 0")
    return found


def _reading(cells: dict[str, str], decimal_comma: bool) -> Reading:
    place = cells["place"]
    numbers = {
        head: _number(cells[head], decimal_comma) or 0.0
        for head in (*NEEDED[place], *ALWAYS)
        if head != "part"
    }
    part = cells["part"] if place == "sheet" else ""
    return Reading(place=place, part=part, **numbers)  # type: ignore[arg-type]


def _number(cell: str, decimal_comma: bool) -> float | None:
    try:
        number = float(cell.replace(",", ".") if decimal_comma else cell)
    except ValueError:
        return None
    return number if math.isfinite(number) else None
