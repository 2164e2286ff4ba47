"""Sections about the thing built: the picture, supply and heat, what to cut, studies made."""

from __future__ import annotations

from collections.abc import Sequence

from photonsim.figures import (
    draw_blur,
    draw_line_contrast,
    draw_orientation,
    draw_preview,
    draw_stop,
    draw_supply,
)
from photonsim.figures.sheets.cutting_sheet import draw_reduced
from photonsim.figures.study.draw import study_figures
from photonsim.optics.orientation import MOUNTINGS, mounting_of, orientation_words
from photonsim.report.content import Block, Bullets, Listing, Paragraph, Picture, Section, table
from photonsim.results import Result, screen_of
from photonsim.results.files.study_table import Column, StudyTable
from photonsim.results.remarks.laws import outdated_study
from photonsim.summary.brightness_text import brightness_text, zone_rows
from photonsim.supply.load_line import load_lines
from photonsim.supply.plan import has_supply, supply_plan
from photonsim.supply.plan_text import plan_text
from photonsim.workshop.cutting import CuttingPlan, cutting_plan
from photonsim.workshop.parts_list import HEADINGS, areas_by_material, parts_rows

MOST_STUDY_ROWS = 40


def picture(results: Sequence[tuple[str, Result]]) -> Section | None:
    """What the audience sees: preview and brightness; None where no scene has a screen."""
    shown = [(label, result) for label, result in results if result.scene.screen is not None]
    if not shown:
        return None
    labels = ", ".join(label for label, _ in shown)
    return Section(
        "What the audience sees",
        "picture",
        (
            Picture(
                draw_preview(shown),
                "preview",
                "A test chart as it would look on the screen: blur, uniformity, distortion and "
                "room light, at one exposure.",
                f"Previews of a test chart through {labels}.",
                "png",
            ),
            *_on_the_screen(*shown[0]),
            *(Listing(f"Brightness: {label}", brightness_text(result)) for label, result in shown),
        ),
    )


def _on_the_screen(label: str, result: Result) -> tuple[Block, ...]:
    """One design on the screen by zone: the table, and the three figures."""
    mounting = mounting_of(result.scene)
    assert mounting is not None  # a result without a screen is not shown here
    heads, *rows = zone_rows(screen_of(result))
    blurs = ", ".join(f"{row[0]} {row[1]}" for row in rows)
    return (
        table(heads, rows, (0,)),
        Picture(
            draw_blur(result),
            "blur",
            f"'{label}' over the picture: blur, centroid shift, light, distortion, lateral colour.",
            f"Maps over the picture for {label}. RMS blur in panel pixels: {blurs}.",
            "png",
        ),
        Picture(
            draw_line_contrast(result),
            "line_contrast",
            f"'{label}': how much of the contrast of fine lines is left on the screen.",
            f"Curves of contrast against pitch of lines for {label}, three zones, both ways.",
        ),
        Picture(
            draw_stop(result),
            "stop",
            f"'{label}': which part of the stop makes the blur of each field, and what a smaller "
            "stop would buy and cost.",
            f"Maps of the stop as filled from nine fields for {label}, and light against blur.",
            "png",
        ),
        Picture(
            draw_orientation(MOUNTINGS, mounting, label),
            "orientation",
            "Which way round panel and picture must be, for every way to mount them.",
            " ".join(orientation_words(result.scene)),
        ),
    )


def supply(label: str, result: Result) -> Section | None:
    """How the LEDs are fed and cooled; None for a scene without a supply that is described."""
    if not has_supply(result.scene):
        return None
    plan = supply_plan(result.scene)
    exceeded = list(plan.exceeded) or ["No limit is exceeded."]
    return Section(
        "Supply and heat",
        "supply",
        (
            Picture(
                draw_supply(load_lines(result.scene, plan), label),
                "supply",
                "Load lines of the supply, and how far current and light stray from lamp to lamp.",
                f"Load lines for {label}. All causes together move the light by "
                f"{_percent(plan.worst.light_from(plan.point))}. {' '.join(exceeded)}",
            ),
            Listing("The plan in full", plan_text(result.scene, plan)),
        ),
    )


def cutting(label: str, result: Result) -> Section:
    """What to cut: the parts list and a picture of all pieces, much smaller than they are."""
    plan: CuttingPlan = cutting_plan(result.scene)
    areas = ", ".join(f"{name} {area:.0f} cm²" for name, area in areas_by_material(plan).items())
    names = ", ".join(piece.name for piece in plan.pieces)
    return Section(
        "What to cut",
        "cutting",
        (
            Paragraph(
                f"The parts of '{label}'. This picture is not to scale: print the cutting sheet "
                "that 'photonsim cut' makes, at actual size, and check its ruler."
            ),
            Picture(
                draw_reduced(plan),
                "pieces",
                "All pieces of the lamp, every copy, reduced; the numbers are those of the list.",
                f"Drawings of the pieces: {names}.",
            ),
            table(HEADINGS, parts_rows(plan), (1, 2)),
            Bullets((f"Finished areas, waste not counted: {areas}.", *plan.remarks)),
        ),
    )


def study(found: StudyTable, anchor: str) -> Section:
    """A sweep, a search or a tolerance study: its figures and its table."""
    heads = [column.heading for column in found.columns]
    rows = [
        [_cell(column, row) for column in found.columns]
        for row in range(min(len(found), MOST_STUDY_ROWS))
    ]
    blocks: list[Block] = [Paragraph(sentence) for sentence in outdated_study(found)]
    blocks += [
        Picture(
            figure,
            f"{anchor}-{name}",
            f"{found.title}: {name} of {len(found)} designs.",
            f"Figure of a {found.kind} over {len(found)} designs.",
            "png",
        )
        for name, figure in study_figures(found).items()
    ]
    left = [k for k, column in enumerate(found.columns) if column.has_words]
    blocks.append(table(heads, rows, left))
    if len(found) > MOST_STUDY_ROWS:
        blocks.append(Paragraph(f"The first {MOST_STUDY_ROWS} of {len(found)} designs."))
    title = f"{found.kind.capitalize()}: {found.title}" if found.title else found.kind.capitalize()
    return Section(title, anchor, tuple(blocks))


def _cell(column: Column, row: int) -> str:
    value = column.values[row]
    return str(value) if column.has_words else f"{value:.4g}"


def _percent(ends: tuple[float, float]) -> str:
    low, high = (100.0 * end for end in ends)
    return f"{low:+.0f} to {high:+.0f} %"
