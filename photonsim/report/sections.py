"""What is told of the designs: the job, the lamp, the answer, its map, its picture, its losses."""

from __future__ import annotations

from collections.abc import Sequence

from photonsim.figures import (
    draw_angular_spread,
    draw_blur,
    draw_intensity,
    draw_ledger,
    draw_line_contrast,
    draw_maps,
    draw_preview,
    draw_profile,
    draw_side_view,
    draw_small_maps,
    draw_stop,
)
from photonsim.figures.style import PRINT
from photonsim.report.content import (
    Block,
    Folded,
    Listing,
    Paragraph,
    Picture,
    Section,
    table,
)
from photonsim.results import FIGURES, LightPath, Result, Shown, screen_of, shown_in
from photonsim.results.remarks.caveats import caveats
from photonsim.studies import Comparison, Design
from photonsim.studies.comparing import tables
from photonsim.studies.comparing.answer import answer as words_of
from photonsim.summary.brightness import brightness_of
from photonsim.summary.brightness_text import brightness_text, zone_rows
from photonsim.summary.focus_words import focus_words
from photonsim.summary.scene_summary import scene_summary

# Narrow, so that words can still be read where a phone shows a figure whole.
LOOK = PRINT._replace(width_in=5.0, small_print=False)
# Columns that a page has room for: rank, name, light, change, and what a design is chosen by.
MOST_COLUMNS = 8


def answer(comparison: Comparison) -> str:
    """Return the outcome in a few sentences."""
    best = comparison.designs[0]
    share = best.result.estimate("collected_fraction").text(100.0, "%")
    words = words_of(comparison) or [
        f"Through panel, lenses and stop go {best.result.estimate('collected_lm').text(1.0, 'lm')}."
    ]
    return " ".join([*words, f"That is {share} of what is emitted.", _darkest(best.result)])


def _darkest(result: Result) -> str:
    edge = result.estimate("darkest_edge")
    if edge.is_withheld:
        return "How even the picture is cannot be told from so few photons."
    return f"The darkest edge or corner has {edge.text(100.0, '%')} of the picture's mean light."


def wanted(best: Design) -> Section:
    """What is to be built."""
    scene, panel = best.result.scene, best.result.scene.panel
    count = sum(group.count for group in scene.emitters.values())
    noun = "emitter gives" if count == 1 else "emitters give"
    words = (
        f"A home-built projector throws the picture of a panel of {panel.columns} × {panel.rows} "
        f"pixels, {panel.active_width_mm:g} × {panel.active_height_mm:g} mm, through an objective "
        f"whose aperture stop is {scene.stop.diameter_mm:g} mm wide. Only light that passes the "
        f"panel and this stop makes a picture: as much as can be, as evenly as can be. "
        f"In '{best.label}', {count:,} {noun} {scene.flux_lm:.4g} lm."
    )
    notes = [Paragraph(scene.notes.strip())] if scene.notes.strip() else []
    return Section("What was wanted", "wanted", (Paragraph(words), *notes))


def lamp(best: Design, paths: Sequence[LightPath]) -> Section:
    """The best design from the side, and how it is laid out."""
    label, result = best
    parts = ", ".join(f"{name} at {part.z_mm:g} mm" for name, part in result.scene.train.items())
    return Section(
        f"The lamp: {label}",
        "lamp",
        (
            *(Paragraph(words) for words in caveats(result)),
            Picture(
                draw_side_view(result.scene, paths, LOOK),
                "side_view",
                f"'{label}' from the side and from above, to scale, with traced light.",
                f"Two sections through the lamp. From the base towards the screen: {parts}.",
            ),
            Folded("Layout and first-order optics", (Listing(scene_summary(result.scene)),)),
        ),
    )


def figures(comparison: Comparison) -> Section:
    """The figures of merit: of several designs in one table, with small maps; else of the one."""
    best = comparison.designs[0].result
    every = Folded(
        f"All figures of '{comparison.designs[0].label}'",
        (table(_merits(best, list(FIGURES)), (0, 2)),),
    )
    if len(comparison.designs) == 1:
        usual = [row[:2] for row in _merits(best, shown_in(Shown.TRACE))]
        return Section("The answer", "answer", (table(usual, (0,)), every))
    heads, *short = tables.short_rows(comparison)
    rows = [
        (rank, design.label, *cells)[:MOST_COLUMNS]
        for design, (rank, _, *cells) in zip(comparison.designs, short, strict=True)
    ]
    full = tables.figure_rows(comparison)
    luck = (
        "± is one standard error; other figures end where luck begins. Differences that may be "
        "luck are 'not shown'; those that stand here are real: luck alone makes one of them in 100 "
        "such tables. The maps share one scale, relative to the mean of each."
    )
    light = ", ".join(f"{row[1]} {row[2]} lm" for row in rows)
    return Section(
        "The answer",
        "answer",
        (
            table([heads[:MOST_COLUMNS], *rows], (1,)),
            Paragraph(luck),
            Picture(
                draw_small_maps(comparison.results, LOOK),
                "small_maps",
                "The light that each design collects from the panel, by the numbers of the table.",
                f"Small maps of the panel, one for each design. Collected light: {light}.",
            ),
            Folded("All designs with all errors", (table(full, (1, len(full[0]) - 1)),)),
            every,
        ),
    )


def _merits(result: Result, names: Sequence[str]) -> list[tuple[str, str, str]]:
    """Return figures of merit with their errors and what they mean, the headings first."""
    found = [FIGURES[name] for name in names]
    rows = [
        (one.words, result.estimate(one.name).text(one.scale, one.unit), one.meaning)
        for one in found
    ]
    return [("figure of merit", "value ± standard error", "what it is"), *rows]


def maps(best: Design) -> Section:
    """The best design's light on the panel, and from where it comes."""
    label, result = best

    def text(name: str) -> str:
        return result.estimate(name).text(FIGURES[name].scale, FIGURES[name].unit)

    return Section(
        "The light on the panel",
        "map",
        (
            Picture(
                draw_maps(result, LOOK._replace(labels=False)),
                "maps",
                "Light on the panel: all that arrives, and the part of it that goes on through the "
                "stop. The second is what the audience sees.",
                f"Maps of the panel for {label}. Least over mean of nine points: "
                f"{text('incident_uniformity')} for the light that arrives, {text('uniformity')} "
                "for the light collected.",
            ),
            Folded(
                "Profile, angles and intensity",
                (
                    Picture(
                        draw_profile(result, LOOK),
                        "profile",
                        "Across the emitters: the structure that single emitters leave.",
                        f"Curves of light across the panel for {label}. RMS deviation at the "
                        f"emitters' pitch: {text('structure')}.",
                    ),
                    Picture(
                        draw_angular_spread(result, LOOK),
                        "spread",
                        "Where the light that arrives at each place of the panel comes from: its "
                        "mean direction, and the spread of angles about it.",
                        f"Maps of direction and spread for {label}. RMS angle from the axis: "
                        f"{text('rms_angle_deg')}.",
                    ),
                    Picture(
                        draw_intensity(result, LOOK),
                        "intensity",
                        "Intensity against angle, horizontally and vertically; the band is one "
                        "standard error.",
                        f"Intensity curves for {label}. Arriving light falls to half at "
                        f"{text('half_intensity_x_deg')} horizontally and "
                        f"{text('half_intensity_y_deg')} vertically.",
                    ),
                ),
            ),
        ),
    )


def picture(comparison: Comparison) -> Section | None:
    """What the audience sees: preview and brightness; None where no scene has a screen."""
    shown = [item for item in comparison.results if item[1].scene.screen is not None]
    if not shown:
        return None
    blocks: list[Block] = []
    if shown[0][1] is comparison.designs[0].result:
        blocks += _on_the_screen(*shown[0])
    if len(shown) > 1:
        words = "The same chart with each design, all at one exposure."
        blocks.append(Folded("The picture with each design", (_preview(shown, "previews", words),)))
    return Section("The picture as the audience sees it", "picture", tuple(blocks))


def _preview(shown: Sequence[tuple[str, Result]], name: str, caption: str) -> Picture:
    labels = ", ".join(label for label, _ in shown)
    words = f"A test chart as seen on the screen through {labels}."
    return Picture(draw_preview(shown, None, LOOK), name, caption, words)


def _on_the_screen(label: str, result: Result) -> tuple[Block, ...]:
    """One design on the screen: its light, its preview, and by zone how sharp it is."""
    view, found, focus = screen_of(result), brightness_of(result), focus_words(result)
    words = (
        f"The picture is {found.width_mm / 1000.0:.2f} × {found.height_mm / 1000.0:.2f} m large at "
        f"{view.projection.throw_mm / 1000.0:.2f} m, with {found.mean_lux.text(1.0, 'lx')} on "
        f"average where all of it is white. {focus[0].upper()}{focus[1:]}."
    )
    blurs = ", ".join(f"{row[0]} {row[1]}" for row in zone_rows(view)[1:])
    return (
        Paragraph(words),
        _preview(
            [(label, result)],
            "preview",
            "A test chart as it would look on the screen: blur, uniformity, distortion and room "
            "light.",
        ),
        Folded(
            "Brightness, and sharpness by zone",
            (
                Listing(brightness_text(result)),
                Picture(
                    draw_blur(result, LOOK),
                    "blur",
                    "Over the picture: blur, centroid shift, light, distortion, lateral colour.",
                    f"Maps over the picture for {label}. RMS blur in panel pixels: {blurs}.",
                ),
                Picture(
                    draw_line_contrast(result, LOOK),
                    "line_contrast",
                    "How much of the contrast of fine lines is left on the screen.",
                    f"Curves of contrast against pitch of lines for {label}, by zone, both ways.",
                ),
                Picture(
                    draw_stop(result, LOOK),
                    "stop",
                    "Which part of the stop makes the blur of each field, and what a smaller stop "
                    "would buy and cost.",
                    f"Maps of the stop from nine fields for {label}, and light against blur.",
                ),
            ),
        ),
    )


def losses(comparison: Comparison) -> Section:
    """Where the light of the best design went; of the others in a table."""
    label, result = comparison.designs[0]
    worst = sorted(result.fates, key=lambda fate: -fate.photons)[:3]
    words = ", ".join(f"{f.name} {100.0 * f.photons / result.photons:.1f} %" for f in worst)
    ledger = tables.ledger_rows(comparison)
    others = Folded(
        "Where the light of each design went", (table(ledger, (1, len(ledger[0]) - 1)),)
    )
    return Section(
        "Where the light went",
        "losses",
        (
            Picture(
                draw_ledger(result, LOOK),
                "ledger",
                f"Where the light of '{label}' went. Every photon has exactly one fate.",
                f"Bars of the fates of all photons for {label}. The largest: {words}.",
            ),
            *([others] if len(comparison.designs) > 1 else []),
        ),
    )
