"""The sections of a write-up: the job, the designs side by side, each design, how it was done."""

from __future__ import annotations

from collections.abc import Sequence

from photonsim.figures import (
    draw_angular_spread,
    draw_designs,
    draw_intensity,
    draw_ledger,
    draw_maps,
    draw_profile,
    draw_side_view,
)
from photonsim.report.content import (
    Bullets,
    Listing,
    Paragraph,
    Picture,
    Section,
    table,
)
from photonsim.results import FIGURES, LightPath, Result
from photonsim.results.remarks.caveats import caveats
from photonsim.studies import Comparison
from photonsim.studies.comparing import tables as comparison_tables
from photonsim.summary.scene_summary import scene_summary, warnings_text
from photonsim.words.cautions import ALL as CAUTIONS

ASSUMPTIONS = (
    "Light is traced as rays: no diffraction and no interference. Parts are as large as the scene "
    "says, stand exactly where it says, and are clean.",
    "Polarisation is left out: faces reflect as they do on average, and a panel's polariser is "
    "part of its transmittance.",
    "Prism film is traced through its real cross-section, a diffuser by a scatter lobe from its "
    "haze or half-intensity angle; neither was taken from a table of gains.",
    "The panel's transmittance, and that of ideal lenses behind it, multiply the counted light.",
    "Every figure has a standard error, ±: two runs in three lie within it, nineteen in twenty "
    "within twice it. It holds the luck of the photons alone, not what the scene gets wrong about "
    "the parts.",
)


def job(results: Sequence[tuple[str, Result]]) -> Section:
    """What is to be built, and the outcome in two sentences."""
    _, first = results[0]
    scene, panel = first.scene, first.scene.panel
    count = sum(group.count for group in scene.emitters.values())
    noun = "emitter gives" if count == 1 else "emitters give"
    words = (
        f"A home-built projector throws the picture of a panel of {panel.columns} × {panel.rows} "
        f"pixels, {panel.active_width_mm:g} × {panel.active_height_mm:g} mm, through an objective "
        f"whose aperture stop is {scene.stop.diameter_mm:g} mm wide. Only light that passes the "
        f"panel and this stop makes a picture. In '{results[0][0]}', {count:,} {noun} "
        f"{scene.flux_lm:.4g} lm."
    )
    best_name, best = max(results, key=lambda item: item[1].estimate("collected_lm").value)
    light = best.estimate("collected_lm").text(1.0, "lm")
    share = best.estimate("collected_fraction").text(100.0, "%")
    outcome = (
        f"'{best_name}' brings {light} through panel, lenses and stop: of the light that is "
        f"emitted, {share} gets to the stop, before the losses in panel and lenses. "
        + _darkest(best)
    )
    if len(results) > 1:
        outcome = f"Of {len(results)} designs, {outcome}"
    notes = [Paragraph(first.scene.notes.strip())] if first.scene.notes.strip() else []
    return Section("The job", "job", (Paragraph(words), *notes, Paragraph(outcome)))


def _darkest(result: Result) -> str:
    nine, edge = result.estimate("uniformity"), result.estimate("darkest_edge")
    if nine.is_withheld or edge.is_withheld:
        return "How even the picture is cannot be told from so few photons."
    return (
        f"The darkest of nine points has {nine.text(100.0, '%')} of their mean, the darkest edge "
        f"or corner {edge.text(100.0, '%')} of the picture's."
    )


def side_by_side(comparison: Comparison) -> Section:
    """The designs in one table and one figure."""
    heads, *rows = comparison_tables.figure_rows(comparison)
    ledger_heads, *ledger_rows = comparison_tables.ledger_rows(comparison)
    ranking = ", ".join(
        f"{design.label} {design.result.estimate('collected_lm').text(1.0, 'lm')}"
        for design in comparison.designs
    )
    return Section(
        "The designs side by side",
        "designs",
        (
            table(heads, rows, (1, len(heads) - 1)),
            Picture(
                draw_designs(comparison.results),
                "comparison",
                "The designs side by side, with standard errors, and the light that each collects "
                "from the panel, on one scale.",
                f"Charts of the designs' figures of merit. Collected light: {ranking}.",
                "png",
            ),
            table(ledger_heads, ledger_rows, (1, len(ledger_heads) - 1)),
            Bullets(tuple(comparison_tables.notes(comparison))),
        ),
    )


def design(label: str, result: Result, paths: Sequence[LightPath], anchor: str) -> Section:
    """One design: its layout, its figures of merit and all its pictures."""
    rows = [
        (figure.words, result.estimate(name).text(figure.scale, figure.unit))
        for name, figure in FIGURES.items()
    ]
    return Section(
        label,
        anchor,
        (
            *(Paragraph(words) for words in caveats(result)),
            _side_view(label, result, paths, anchor),
            table(("figure of merit", "value ± standard error"), rows, (0,)),
            *_maps(label, result, anchor),
            *_angles(label, result, anchor),
            _ledger(label, result, anchor),
            Listing(
                "Layout, first-order optics and warnings",
                f"{scene_summary(result.scene)}\n\n{warnings_text(result.scene)}",
            ),
        ),
    )


def _side_view(label: str, result: Result, paths: Sequence[LightPath], anchor: str) -> Picture:
    parts = ", ".join(f"{name} at {part.z_mm:g} mm" for name, part in result.scene.train.items())
    return Picture(
        draw_side_view(result.scene, paths),
        f"{anchor}-side_view",
        f"{label} from the side and from above, to scale, with {len(paths)} of the traced light "
        "paths.",
        f"Two sections through the lamp. From the base towards the screen: {parts}.",
    )


def _maps(label: str, result: Result, anchor: str) -> tuple[Picture, ...]:
    arriving = result.estimate("incident_uniformity").text(100.0, "%")
    collected = result.estimate("uniformity").text(100.0, "%")
    structure = result.estimate("structure").text(100.0, "%")
    return (
        Picture(
            draw_maps(result),
            f"{anchor}-maps",
            "Light on the panel: all that arrives, and the part of it that goes on through the "
            "stop. The second is what the audience sees.",
            f"Maps of the panel for {label}. Least over mean of nine points: {arriving} for the "
            f"light that arrives, {collected} for the light collected.",
            "png",
        ),
        Picture(
            draw_profile(result),
            f"{anchor}-profile",
            "Profile across the emitters, relative to the mean.",
            f"Light across the panel for {label}, with the emitters marked. Their pitch shows in "
            f"the collected light with an amplitude of {structure} of the mean.",
        ),
    )


def _angles(label: str, result: Result, anchor: str) -> tuple[Picture, ...]:
    spread = result.estimate("rms_angle_deg").text(1.0, "°")
    x, y = (result.estimate(f"half_intensity_{axis}_deg").text(1.0, "°") for axis in "xy")
    return (
        Picture(
            draw_angular_spread(result),
            f"{anchor}-spread",
            "Where the light that arrives at each place of the panel comes from: its mean "
            "direction, and the spread of angles about it.",
            f"Maps of direction and spread for {label}. Over the panel the RMS angle from the axis "
            f"is {spread}.",
            "png",
        ),
        Picture(
            draw_intensity(result),
            f"{anchor}-intensity",
            "Intensity against angle in the horizontal and the vertical plane, with one standard "
            "error as a band.",
            f"Intensity curves for {label}. Arriving light falls to half at {x} horizontally and "
            f"{y} vertically.",
        ),
    )


def _ledger(label: str, result: Result, anchor: str) -> Picture:
    worst = sorted(result.fates, key=lambda fate: -fate.photons)[:3]
    words = ", ".join(f"{f.name} {100.0 * f.photons / result.photons:.1f} %" for f in worst)
    return Picture(
        draw_ledger(result),
        f"{anchor}-ledger",
        "Where the light went. Every photon has exactly one fate, and they add up to all that were "
        "emitted.",
        f"Bars of the fates of all photons for {label}. The largest: {words}.",
    )


def assumptions() -> Section:
    """What the figures take for granted, and what their errors mean."""
    return Section("Assumptions and errors", "assumptions", (Bullets(ASSUMPTIONS),))


def cautions() -> Section:
    """The usual cautions."""
    return Section("Before you switch it on", "cautions", (Bullets(tuple(CAUTIONS)),))


def reproduction(results: Sequence[tuple[str, Result]]) -> Section:
    """How to get the same figures again: program, seeds, counts, scenes."""
    rows = [
        (label, result.run.program_version, f"{result.photons:,}", str(result.seed),
         _guiding(result), result.run.device, result.run.stopped_by)
        for label, result in results
    ]  # fmt: skip
    heads = ("design", "photonsim", "photons", "seed", "guide", "device", "stopped by")
    words = (
        "The same scene, seed and photon count give the same counts, to the last photon, on any "
        "number of threads. Save a scene below as a file, say lamp.toml, and run: photonsim trace "
        "lamp.toml --photons COUNT --seed SEED --out lamp; with --guide off where there was none, "
        "or --guide RESULT for a guide of another lamp"
    )
    listings = [Listing(f"Scene: {label}", result.scene.text) for label, result in results]
    return Section(
        "How to reproduce it",
        "reproduce",
        (table(heads, rows, (0, 1, 4, 5, 6)), Paragraph(words), *listings),
    )


def _guiding(result: Result) -> str:
    guide = result.tallies.guide
    return guide.origin if guide else "none"
