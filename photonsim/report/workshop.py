"""What to build: which way round, supply and heat, what to cut, and the cautions."""

from __future__ import annotations

from photonsim.figures import draw_orientation, draw_supply
from photonsim.figures.sheets.cutting_sheet import draw_reduced
from photonsim.optics.orientation import mounting_of, orientation_words
from photonsim.report.content import (
    Block,
    Bullets,
    Folded,
    Heading,
    Listing,
    Paragraph,
    Picture,
    Section,
    table,
)
from photonsim.report.sections import LOOK
from photonsim.results import Result
from photonsim.studies import Design
from photonsim.supply.load_line import load_lines
from photonsim.supply.plan import has_supply, supply_plan
from photonsim.supply.plan_text import plan_text
from photonsim.words.cautions import ALL, for_lamp
from photonsim.workshop.cutting import CuttingPlan, cutting_plan
from photonsim.workshop.parts_list import HEADINGS, areas_by_material, parts_rows


def build(best: Design) -> Section:
    """All that it takes to build the best design."""
    result = best.result
    return Section(
        f"What to build: {best.label}",
        "build",
        (
            *_cutting(result),
            *_orientation(result),
            *_supply(best.label, result),
            Heading("Before you switch it on", "cautions"),
            Bullets(for_lamp(ALL, result.scene)),
        ),
    )


def _cutting(result: Result) -> tuple[Block, ...]:
    """The parts list, and a picture of all pieces, much smaller than they are."""
    plan: CuttingPlan = cutting_plan(result.scene)
    areas = ", ".join(f"{name} {area:.0f} cm²" for name, area in areas_by_material(plan).items())
    names = ", ".join(piece.name for piece in plan.pieces)
    return (
        Heading("Parts and cutting", "cutting"),
        table([HEADINGS, *parts_rows(plan)], (1, 2)),
        Paragraph(
            f"Finished areas, waste not counted: {areas}. To cut, print the sheet that 'photonsim "
            "cut' makes, at actual size, and check its ruler."
        ),
        Picture(
            draw_reduced(plan),
            "pieces",
            "All pieces of the lamp, every copy, not to scale; the numbers are those of the list.",
            f"Drawings of the pieces: {names}.",
        ),
        *([Bullets(tuple(plan.remarks))] if plan.remarks else []),
    )


def _orientation(result: Result) -> tuple[Block, ...]:
    """Which way round panel and picture must be; nothing for a scene without a screen."""
    mounting = mounting_of(result.scene)
    if mounting is None:
        return ()
    words = " ".join(orientation_words(result.scene))
    return (
        Heading("Which way round", "orientation"),
        Paragraph(words),
        Folded(
            "Which way round, drawn",
            (
                Picture(
                    draw_orientation([mounting], look=LOOK),
                    "orientation",
                    "How panel and picture stand.",
                    words,
                ),
            ),
        ),
    )


def _supply(label: str, result: Result) -> tuple[Block, ...]:
    """How the LEDs are fed and cooled; nothing for a scene without a supply that is described."""
    if not has_supply(result.scene):
        return ()
    plan = supply_plan(result.scene)
    exceeded = tuple(plan.exceeded) or ("No limit is exceeded.",)
    ends = [100.0 * end for end in plan.worst.light_from(plan.point)]
    strays = f"All causes together move the light by {ends[0]:+.0f} to {ends[1]:+.0f} %."
    return (
        Heading("Supply and heat", "supply"),
        Bullets((*exceeded, strays)),
        Picture(
            draw_supply(load_lines(plan), label, LOOK),
            "supply",
            "Load lines of the supply, and how far current and light stray from lamp to lamp.",
            f"Load lines for {label}. {strays} {' '.join(exceeded)}",
        ),
        Folded("The plan in full", (Listing(plan_text(plan)),)),
    )
