"""The summary of a scene as text: what looks wrong; and layout, first-order facts, cautions."""

from __future__ import annotations

import math
from collections.abc import Iterator

from photonsim.optics.facts import Facts, LensFacts, diffusers_before_panel, facts_of
from photonsim.optics.first_order import (
    cone_share,
    cos4,
    film_angles,
    flattest_pitch,
    lattice_uniformity,
)
from photonsim.optics.focus import objective_parts
from photonsim.optics.focus_text import first_order_words
from photonsim.optics.objective import objective_words
from photonsim.optics.orientation import orientation_drawing, orientation_words
from photonsim.optics.paraxial import Image
from photonsim.optics.polarisers import between_deg, recycler_of, recycling_gain
from photonsim.scene import (
    Emitter,
    FresnelLens,
    IntensityTable,
    PrismFilm,
    RealLens,
    ReflectivePolariser,
    Scene,
    Supply,
    Unfinished,
)
from photonsim.scene.light_plate import plates_of
from photonsim.scene.polariser import Polariser
from photonsim.scene.stands import on_board
from photonsim.summary.layout import layout_table
from photonsim.warnings.about import warnings_about
from photonsim.words.cautions import FOR_OPTICS, for_lamp, strip_words
from photonsim.words.text import bullets, number, paragraph, percent

# A room lamp's worth of light from a small face is where eyes, heat and supply call for care.
BRIGHT_LM = 100.0
# What film from an old screen loses: tips from memory; a pass as in a clear sheet of polycarbonate,
# 0.872 straight on against 0.902 without loss (check-values-2, section 9), which a thin film keeps
# below.
TYPICAL_TIPS, TYPICAL_ABSORPTION = 0.04, 0.03
# White LEDs give 80 to 150 (common practice).
TYPICAL_LM_PER_W = 100.0


def scene_summary(scene: Scene) -> str:
    """Text about a scene for a person: layout, first-order facts and cautions."""
    facts = facts_of(scene)
    sections = [
        ("Layout", layout_table(scene)),
        ("Étendue and light", bullets(_light(scene, facts))),
        ("Panel and stop", bullets(_stop(scene, facts))),
    ]
    if facts.lenses:
        sections.append(("Lenses", bullets(_lenses(scene, facts))))
    if scene.screen is not None:
        sections.append(("Objective and screen", bullets(_objective(scene))))
        words = bullets(orientation_words(scene))
        sections.append(("Which way round", f"{words}\n{orientation_drawing(scene)}"))
    if spread := [*_emitters(scene), *_films(scene), *_polarisers(scene)]:
        sections.append(("Emitters and films", bullets(spread)))
    if scene.flux_lm >= BRIGHT_LM:
        sections.append(("Cautions", bullets(for_lamp(FOR_OPTICS, scene))))
    title = paragraph(scene.title or "Untitled scene")
    paragraphs = [f"{name}\n{text}" if text else name for name, text in sections]
    return "\n\n".join([f"{title}\n{'=' * max(map(len, title.splitlines()))}", *paragraphs])


def warning_words(scene: Scene, traced: bool = False) -> list[str]:
    """Return what looks wrong in a scene, a paragraph each; nothing is traced for it.

    Where a verdict stands beside, `traced`, what it says of focus is left to it.
    """
    return [str(one) for one in warnings_about(scene, traced=traced)]


def warnings_text(scene: Scene, traced: bool = False) -> str:
    """Text of what looks wrong in a scene; see `warning_words`."""
    found = warning_words(scene, traced)
    noun = "warning" if len(found) == 1 else "warnings"
    heading = f"{len(found) or 'No'} {noun}"
    return f"{heading}:\n{bullets(found)}" if found else f"{heading}."


def unfinished_text(scene: Scene) -> str:
    """Text of what is missing or wrong in the table of the supply; empty where nothing is."""
    if not isinstance(scene.supply, Unfinished):
        return ""
    found = [str(mistake) for mistake in scene.supply.mistakes]
    return f"[supply] is not finished, which stops no tracing:\n{bullets(found)}"


def caution_line(scene: Scene, path: str) -> str:
    """Say in a line where the cautions stand; empty for a lamp too dim to hurt."""
    if scene.flux_lm < BRIGHT_LM:
        return ""
    verb = f"supply {path}" if isinstance(scene.supply, Supply) else f"check --verbose {path}"
    return f"Eyes, heat, sun: see `photonsim {verb}`."


def ideal_film_line(scene: Scene) -> str:
    """Say what typical films lose, where a scene has some that lose nothing; else empty."""
    films = [
        name
        for name, part in scene.train.items()
        if isinstance(part, PrismFilm) and not (part.absorption_per_pass or part.flat_tip_share)
    ]
    if not films:
        return ""
    return (
        f"Without loss of its own: {', '.join(films)}. Of film from old screens some "
        f"{percent(TYPICAL_TIPS)} of the pitch is flat tip (from memory), and one pass takes up to "
        f"{percent(TYPICAL_ABSORPTION)}, as in a clear sheet. Over a matt base both together take "
        f"7 to 11 % of a film's gain and 14 to 29 % of a crossed pair's. To reckon with them: "
        f"flat_tip_share = {TYPICAL_TIPS:g}, absorption_per_pass = {TYPICAL_ABSORPTION:g}."
    )


def _light(scene: Scene, facts: Facts) -> Iterator[str]:
    count = sum(group.count for group in scene.emitters.values())
    noun = "emitter gives" if count == 1 else "emitters give"
    yield (
        f"{count:,} {noun} {number(scene.flux_lm)} lm. Étendue of the emitting faces: "
        f"{number(facts.emitter_etendue)} mm² sr."
    )
    if facts.acceptance is None:
        return
    accepted = facts.acceptance.accepted_mm2sr
    about = "about " if facts.acceptance.is_coarse else ""
    yield (
        f"The stop accepts {about}{number(accepted)} mm² sr from the panel, "
        f"{percent(accepted / facts.panel_etendue)} of what a panel glowing evenly in all "
        "directions (Lambertian) sends out."
    )
    if facts.ceiling_lm >= scene.flux_lm * (1.0 - 1.0e-9):
        yield "Étendue sets no limit here: all of the emitters' light would fit through the stop."
        return
    ceiling = (
        f"No arrangement of passive parts brings more than {number(facts.ceiling_lm)} lm "
        f"({percent(facts.ceiling_lm / scene.flux_lm)}) through the stop, as long as no light "
        "comes back to the emitters."
    )
    if facts.recycled_ceiling_lm < scene.flux_lm:
        ceiling += (
            " Light that their faces reflect once more can lift this, to "
            f"{number(facts.recycled_ceiling_lm)} lm at the very most."
        )
    else:
        ceiling += " Light that their faces reflect once more can lift this."
    yield f"{ceiling} (The transmittances of panel and lenses are not in this.)"


def _stop(scene: Scene, facts: Facts) -> Iterator[str]:
    in_line = scene.panel.polariser_deg is not None and facts.picture_ceiling_lm > (
        scene.flux_lm * facts.transmittance * (1.0 + 1.0e-9)
    )
    if scene.panel.transmittance == 1.0:
        yield "The panel's transmittance is 1: lumens are those without the panel's own loss."
    else:
        yield (
            f"Panel and lenses together pass {percent(facts.transmittance)}{_glass(scene)}, which "
            "leaves "
            f"{number(facts.picture_ceiling_lm)} lm for the picture at the very "
            f"most{', most of it polarised along its axis' * in_line}."
        )
    if facts.view is None or facts.acceptance is None:
        yield "The stop lies in an image of the panel: it does not limit the angles."
        return
    view, acceptance = facts.view, facts.acceptance
    share = percent(cone_share(view.half_angle_deg))
    yield (
        f"Seen from the panel's middle the stop is f/{number(view.f_number)}: a cone of "
        f"{number(view.half_angle_deg)}° half angle, which holds {share} of an evenly glowing "
        "face's light."
    )
    if abs(view.corner_leaves_deg) < 0.5:
        heading = "nearly along the axis"
    else:
        side = "towards" if view.corner_leaves_deg > 0.0 else "away from"
        heading = f"{number(abs(view.corner_leaves_deg))}° {side} the axis"
    yield f"Light for the middle of the stop must leave the panel's corner {heading}."
    if acceptance.centre:
        relative = percent(acceptance.corner / acceptance.centre)
        yield (
            f"It arrives there at {number(view.corner_arrives_deg)}°. On an even panel the stop "
            f"takes {relative} as much from the corner as from "
            f"the middle (cos^4 law: {percent(cos4(view.corner_arrives_deg))})."
        )


def _glass(scene: Scene) -> str:
    """Say that faces of glass are left out, where there are some."""
    is_glass = any(isinstance(part, RealLens | FresnelLens) for part in scene.train.values())
    return " (what faces of glass reflect is left out)" if is_glass else ""


def _lenses(scene: Scene, facts: Facts) -> Iterator[str]:
    for lens in facts.lenses:
        yield _lens(facts, lens)
    if facts.field_lens is None:
        yield "No lens stands nearer to the panel than to the stop: there is no field lens."
        return
    yield (
        f"Field lens: {facts.field_lens}. Behind it, light that came parallel to the axis meets "
        f"the axis {_place(facts.parallel_mm, facts.field_lens, scene)}, light from the lamp's "
        f"middle {_place(facts.lamp_image_mm, facts.field_lens, scene)}; the stop is at z = "
        f"{number(scene.stop.z_mm, 4)} mm."
    )


def _lens(facts: Facts, lens: LensFacts) -> str:
    words = f"{lens.name}: the lamp is imaged {_image(lens.lamp)}"
    if math.isfinite(lens.lamp.z_mm):
        width, height = (abs(lens.lamp.magnification) * side for side in facts.lamp_size_mm)
        words += f", {number(width)} × {number(height)} mm"
    if lens.panel is not None:
        words += f"; the panel {_image(lens.panel)}"
    return f"{words}; looking back from the lamp's side, the stop appears {_image(lens.stop)}."


def _image(image: Image) -> str:
    if math.isinf(image.z_mm):
        return "at infinity"
    return f"at z = {number(image.z_mm, 4)} mm, magnified {number(image.magnification)} times"


def _place(z_mm: float, name: str, scene: Scene) -> str:
    if math.isinf(z_mm):
        return "nowhere (it leaves parallel)"
    virtual = " (virtual)" if z_mm < scene.train[name].z_mm else ""
    return f"at z = {number(z_mm, 4)} mm{virtual}"


def _objective(scene: Scene) -> Iterator[str]:
    yield from objective_words(scene)
    if objective_parts(scene):
        words = first_order_words(scene)
        yield f"{words[0].upper()}{words[1:]}."


def _emitters(scene: Scene) -> Iterator[str]:
    diffusers = diffusers_before_panel(scene)
    for name, group in scene.emitters.items():
        if group.intensity is not None:
            yield f"{name}: {_measured(group, group.intensity)}"
        above = [sheet.z_mm for sheet in diffusers if sheet.z_mm > group.z_mm]
        target = min(above, default=scene.panel.z_mm)
        if group.count > 1 and group.edge is None:
            where = "the first diffuser" if above else "the panel"
            yield f"{name}: {_spacing(group, target - group.z_mm, where)}"
        if group.edge is not None:
            w_per_m = 1000.0 * group.flux_lm / group.length_each_mm / TYPICAL_LM_PER_W
            yield (
                f"{name}: at {TYPICAL_LM_PER_W:g} lm/W (common practice) {number(w_per_m, 2)} W to "
                f"a metre of edge; {strip_words(w_per_m)}."
            )


def _measured(group: Emitter, table: IntensityTable) -> str:
    words = (
        f"the lobe follows a measured table (LM-63 of {table.form}) that holds "
        f"{number(table.flux_lm)} lm; the scene gives each emitter {number(group.flux_lm)} lm"
    )
    if table.claimed_lm is None:
        return f"{words}. The file claims no lumens for its lamp."
    share = percent(table.flux_lm / table.claimed_lm)
    words += f". The file claims {number(table.claimed_lm)} lm for its lamp, so {share} get out"
    if table.flux_lm > table.claimed_lm:
        words += ": more than there is, so one of the two is wrong"
    return f"{words}."


def _spacing(group: Emitter, distance: float, where: str) -> str:
    pitches = list(group.pitches_mm.values())
    ratios = " and ".join(number(pitch / distance, 2) for pitch in pitches)
    flattest = flattest_pitch(distance, group.exponent)
    words = (
        f"the pitch is {ratios} of the {number(distance)} mm to {where} (common practice: at most "
        f"1). Four such emitters in a square light it flattest {number(flattest)} mm apart."
    )
    if len(pitches) == 2:
        uniformity = lattice_uniformity(pitches[0], pitches[1], distance, group.exponent)
        shown = (
            f"{math.floor(1000.0 * uniformity) / 10.0:g} %" if uniformity < 0.999 else "over 99.9 %"
        )
        words += (
            " Without end and without walls, the array would light the darkest place there with "
            f"{shown} of its brightest light."
        )
    return words


def _films(scene: Scene) -> Iterator[str]:
    wavelengths, shares = scene.light.wavelengths_nm, scene.light.normalised_shares
    for name, part in scene.train.items():
        if not isinstance(part, PrismFilm) or part.ridges == "to_lamp":
            continue
        pairs = zip(wavelengths, shares, strict=True)
        angles = film_angles(sum(part.index_at(w) * share for w, share in pairs), part.apex_deg)
        words = f"{name}: across the ridges it "
        if angles.onset_deg > 0.0:
            words += f"turns back light within {number(angles.onset_deg)}° of the axis and "
        if angles.straightened_deg is None:
            yield f"{words}sends no light along the axis."
        else:
            yield f"{words}sends light from {number(angles.straightened_deg)}° along the axis."


def _polarisers(scene: Scene) -> Iterator[str]:
    axis = scene.panel.polariser_deg
    for name, part in scene.train.items():
        if axis is None or not isinstance(part, Polariser) or part.z_mm > scene.panel.z_mm:
            continue
        turn = between_deg(part.pass_deg, axis)
        recycler = recycler_of(scene, part)
        gain = recycling_gain(part, turn, recycler.reflectance, recycler.mirror_share)
        words = f"{name}: {number(turn)}° from the panel's axis."
        if isinstance(part, ReflectivePolariser):
            words += (
                f" Over {recycler.words} it would bring {number(gain)} times the light of none. "
                "Traces with and without it tell what this leaves out: "
                f"{', '.join(_beside_recycling(scene))}."
            )
        else:
            words += f" It leaves {percent(gain)} of the light."
        yield words


def _beside_recycling(scene: Scene) -> Iterator[str]:
    """What changes the gain of a reflective polariser, but not as reckoned here."""
    before = [name for name, p in scene.train.items() if p.z_mm < scene.panel.z_mm]
    yield from (name for name in before if isinstance(scene.train[name], PrismFilm))
    yield from (f"losses in {name}" for name in plates_of(scene.train))
    if on_board(scene):
        yield "emitters that the stop sees"
