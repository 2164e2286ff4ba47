"""What is uncertain, and how the figures came about."""

from __future__ import annotations

from photonsim.report.content import Bullets, Folded, Heading, Listing, Paragraph, Section, table
from photonsim.results.remarks.caveats import caveats
from photonsim.studies import Comparison
from photonsim.summary.scene_summary import warning_words

ASSUMPTIONS = (
    "Light is traced as rays: no diffraction and no interference. Parts are as large as the scene "
    "says, stand exactly where it says, and are clean.",
    "Polarisation is traced where a lamp has a polariser, or a panel whose polariser_deg is told; "
    "elsewhere faces reflect as they do on average, and a panel's polariser is part of its "
    "transmittance.",
    "Prism film is traced through its real cross-section, a diffuser by a scatter lobe from its "
    "haze or half-intensity angle; neither was taken from a table of gains.",
    "The panel's transmittance, and that of ideal lenses behind it, multiply the counted light.",
)
ERRORS = (
    "Every figure has a standard error, ±: two runs in three lie within it, nineteen in twenty "
    "within twice it. It holds the luck of the photons alone, not what the scene gets wrong about "
    "the parts: measure these, above all the flux of the LEDs and what walls and sheets reflect."
)


def uncertain(comparison: Comparison) -> Section:
    """What errors hold and leave out, what looks wrong, and what is taken for granted."""
    best = comparison.designs[0]
    told = [f"{label}: {words}" for label, result in comparison.results[1:]
            for words in caveats(result)]  # fmt: skip
    warned = warning_words(best.result.scene)
    looks = (Heading(f"What looks wrong in '{best.label}'", "warnings"), Bullets(tuple(warned)))
    return Section(
        "What is uncertain",
        "uncertain",
        (
            Bullets((ERRORS, *told)),
            *(looks if warned else ()),
            Heading("What is taken for granted", "assumptions"),
            Bullets(ASSUMPTIONS),
        ),
    )


def computed(comparison: Comparison) -> Section:
    """How to get the same figures again: program, seeds, counts, scenes."""
    rows = [
        (label, result.run.program_version, f"{result.photons:,}", str(result.seed),
         guide.origin if (guide := result.tallies.guide) else "none", result.run.device,
         result.run.stopped_by)
        for label, result in comparison.results
    ]  # fmt: skip
    heads = ("design", "photonsim", "photons", "seed", "guide", "device", "stopped by")
    words = (
        "The same scene, seed and photon count give the same counts, to the last photon, on any "
        "number of threads. Save a scene as a file, say lamp.toml, and run: photonsim trace "
        "lamp.toml --photons COUNT --seed SEED --out lamp; with --guide off where there was none, "
        "or --guide RESULT for a guide of another lamp"
    )
    scenes = [
        Folded(f"Scene: {label}", (Listing(result.scene.text),))
        for label, result in comparison.results
    ]
    return Section(
        "How it was computed",
        "computed",
        (table([heads, *rows], (0, 1, 4, 5, 6)), Paragraph(words), *scenes),
    )
