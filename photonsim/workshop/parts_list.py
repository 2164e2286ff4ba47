"""The parts list of a cutting plan: what to cut, of what, how many, how large."""

from __future__ import annotations

from typing import NamedTuple

from photonsim.words.escaping import csv_text
from photonsim.words.text import aligned, paragraph
from photonsim.workshop.cutting import CuttingPlan

HEADINGS = ("no.", "part", "of", "copies", "width, mm", "height, mm", "area, cm²")


class PartsLine(NamedTuple):
    """One line of the parts list; `area_cm2` is that of all copies together, finished size."""

    number: int
    name: str
    material: str
    copies: int
    width_mm: float
    height_mm: float
    area_cm2: float


def parts_list(plan: CuttingPlan) -> list[PartsLine]:
    """Return the parts of a plan in the order of its pieces."""
    return [
        PartsLine(
            number,
            piece.name,
            piece.material,
            piece.copies,
            *piece.size_mm,
            piece.area_mm2 * piece.copies / 100.0,
        )
        for number, piece in enumerate(plan.pieces, 1)
    ]


def areas_by_material(plan: CuttingPlan) -> dict[str, float]:
    """Return the finished area in cm² that each material must give, waste not counted."""
    areas: dict[str, float] = {}
    for line in parts_list(plan):
        areas[line.material] = areas.get(line.material, 0.0) + line.area_cm2
    return areas


def parts_rows(plan: CuttingPlan) -> list[tuple[str, ...]]:
    """Return the parts list as text cells, without its headings."""
    return [
        tuple(f"{cell:.1f}" if isinstance(cell, float) else str(cell) for cell in line)
        for line in parts_list(plan)
    ]


def parts_text(plan: CuttingPlan) -> str:
    """Return the parts list for a terminal."""
    rows = [HEADINGS, *parts_rows(plan)]
    table = aligned(rows, left=(1, 2), ruled=True)
    totals = ", ".join(f"{name} {area:.0f} cm²" for name, area in areas_by_material(plan).items())
    return f"{table}\n\n{paragraph(f'finished areas, waste not counted: {totals}', '', '  ')}"


def parts_csv(plan: CuttingPlan) -> str:
    """Return the parts list as CSV."""
    lines = [
        [round(cell, 3) if isinstance(cell, float) else cell for cell in line]
        for line in parts_list(plan)
    ]
    return csv_text([PartsLine._fields, *lines])
