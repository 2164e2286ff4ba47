"""Warnings about the lamp: housing, emitters, and the sheets before the panel."""

from __future__ import annotations

from collections.abc import Iterator

from photonsim.optics.facts import DIFFUSING_HAZE, Facts, diffusers_before_panel, haze_of
from photonsim.scene import Diffuser, Emitter, PrismFilm, Scene
from photonsim.scene.light_plate import LightPlate, plates_of
from photonsim.scene.mistakes import join_path
from photonsim.scene.sheet import Sheet
from photonsim.scene.stands import on_board
from photonsim.warnings.warning import SceneWarning
from photonsim.words.text import number

# The best integrating-sphere coatings reach 0.99, the best mirror films 0.98 (common practice).
BEST_REFLECTANCE = 0.99
# From a dim strip under a cover to the densest bare chips; a common 2835 package has 3 lm/mm².
FAINTEST_LM_PER_MM2, BRIGHTEST_LM_PER_MM2 = 0.1, 300.0
SMALLEST_HOUSING_MM, LARGEST_HOUSING_MM = 5.0, 2000.0
# Films of 80 degrees or more turn straight light back; narrower ones turn flat light up, ridges
# to the lamp.
STRAIGHTENING_APEX_DEG = 80.0
LEAST_COVER = 0.8
FAR_TOO_LARGE = 2.0


def lamp_warnings(scene: Scene, facts: Facts) -> Iterator[SceneWarning]:
    """Every warning about housing, emitters and sheets."""
    yield from _reflectances(scene)
    yield from _housing(scene)
    for name, group in scene.emitters.items():
        yield from _flux(name, group)
    for name, group in on_board(scene).items():
        yield from _pitch(scene, name, group)
    for name, plate in plates_of(scene.train).items():
        yield from _dots(name, plate)
    for name, part in scene.train.items():
        if isinstance(part, Sheet):
            yield from _size(scene, facts, name, part)
            yield from _behind_panel(scene, name, part)
        if isinstance(part, Diffuser):
            yield from _haze(name, part)
        if isinstance(part, PrismFilm):
            yield from _ridges(name, part)
            yield from _gaps(scene, name, part)


def _reflectances(scene: Scene) -> Iterator[SceneWarning]:
    found = {"housing.base.reflectance": scene.housing.base.reflectance}
    if scene.housing.walls:
        found["housing.walls.reflectance"] = scene.housing.walls.reflectance
    for name, group in scene.emitters.items():
        found[join_path("emitters", name, "reflectance")] = group.reflectance
    found[join_path("train", scene.panel_name, "frame_reflectance")] = scene.panel.frame_reflectance
    for path, value in found.items():
        if value > BEST_REFLECTANCE:
            yield SceneWarning(
                path,
                value,
                "hardly any surface reflects so much",
                "usual: white paint 0.85 to 0.95, mirror film up to 0.98",
            )
    for name, part in scene.train.items():
        if isinstance(part, Diffuser) and part.transmittance + part.reflectance > BEST_REFLECTANCE:
            yield SceneWarning(
                join_path("train", name, "reflectance"),
                part.reflectance,
                f"with transmittance = {part.transmittance:g} the sheet absorbs next to nothing",
                "usual: 2 to 10 % are lost in the sheet",
            )


def _housing(scene: Scene) -> Iterator[SceneWarning]:
    housing = scene.housing
    for key in ("width_mm", "height_mm", "depth_mm"):
        value = getattr(housing, key)
        if not SMALLEST_HOUSING_MM <= value <= LARGEST_HOUSING_MM:
            yield SceneWarning(
                f"housing.{key}",
                value,
                "not the size of a lamp's housing: was another unit meant?",
                f"usual: {SMALLEST_HOUSING_MM:g} to {LARGEST_HOUSING_MM:g} mm",
            )
    first = min(part.z_mm for part in scene.train.values())
    gap = first - housing.depth_mm
    opening = min(housing.opening_mm(housing.depth_mm))
    if gap > 0.5 * opening:
        yield SceneWarning(
            "housing.depth_mm",
            housing.depth_mm,
            f"light can leave sideways in the {number(gap)} mm from the housing to the first part",
            "usual: the housing reaches as far as the first part",
        )


def _flux(name: str, group: Emitter) -> Iterator[SceneWarning]:
    density = group.flux_lm / group.face_mm2
    if not FAINTEST_LM_PER_MM2 <= density <= BRIGHTEST_LM_PER_MM2:
        yield SceneWarning(
            join_path("emitters", name, "flux_lm"),
            group.flux_lm,
            f"is {number(density)} lm from each mm² of an emitter's face",
            f"usual for LEDs: {FAINTEST_LM_PER_MM2:g} to {BRIGHTEST_LM_PER_MM2:g} lm/mm²; the flux "
            "is that of one emitter",
        )


def _pitch(scene: Scene, name: str, group: Emitter) -> Iterator[SceneWarning]:
    if diffusers_before_panel(scene):
        return
    distance = scene.panel.z_mm - group.z_mm
    for axis, pitch in group.pitches_mm.items():
        if pitch > distance:
            yield SceneWarning(
                join_path("emitters", name, f"pitch_{axis}_mm"),
                pitch,
                f"more than the distance to the panel, {number(distance)} mm, without a diffuser",
                "the emitters will show as spots; usual: a pitch below the distance, or a diffuser",
            )


def _haze(name: str, part: Diffuser) -> Iterator[SceneWarning]:
    haze = haze_of(part)
    if haze < DIFFUSING_HAZE:
        key = "haze" if part.haze is not None else "half_angle_deg"
        yield SceneWarning(
            join_path("train", name, key),
            getattr(part, key),
            f"{100 * haze:.0f} % haze is hardly a diffuser",
            "a diffusing material has more than 30 % (ASTM D1003), a backlight's sheet 80 % or "
            "more; haze is a share, 0 to 1",
        )


def _dots(name: str, plate: LightPlate) -> Iterator[SceneWarning]:
    if plate.dots is None and not plate.dot_share:
        yield SceneWarning(
            join_path("train", name, "dot_share"),
            plate.dot_share or 0.0,
            "without dots total reflection holds the light, and next to none leaves by the front",
            "usual: 0.05 to 0.2 near the lit edge, rising to 0.5 or more at the far end",
        )


def _ridges(name: str, part: PrismFilm) -> Iterator[SceneWarning]:
    if part.ridges == "to_lamp" and part.apex_deg >= STRAIGHTENING_APEX_DEG:
        yield SceneWarning(
            join_path("train", name, "ridges"),
            part.ridges,
            "this way round the film bends straight light away from the axis",
            'usual: "to_screen", the flat side to the lamp',
        )


def _gaps(scene: Scene, name: str, part: PrismFilm) -> Iterator[SceneWarning]:
    """Straight light is turned back by the film: the gaps are there to let it pass."""
    if part.strips is None or part.ridges == "to_lamp" or part.z_mm > scene.panel.z_mm:
        return
    if any(sheet.z_mm < part.z_mm for sheet in diffusers_before_panel(scene)):
        return
    axis = 0 if part.strips.across == "x" else 1
    half = 0.5 * scene.part_size_mm(name)[axis]
    strips = part.strips.intervals_mm(-half, half)
    groups = on_board(scene).values()
    places = {at for g in groups for at in (g.columns_mm() if axis == 0 else g.rows_mm())}
    if places and all(any(low <= place <= high for low, high in strips) for place in places):
        listed = part.strips.covered_mm is not None
        yield SceneWarning(
            join_path("train", name, "strips", "covered_mm" if listed else "offset_mm"),
            part.strips.covered_mm if listed else part.strips.offset_mm,
            "no gap lies over an emitter, where the film turns back the light straight on",
            "usual: the gaps over the emitters, the film between them",
        )


def _size(scene: Scene, facts: Facts, name: str, part: Sheet) -> Iterator[SceneWarning]:
    panel = scene.panel
    outer = (panel.outer_width_mm, panel.outer_height_mm)
    active = (panel.active_width_mm, panel.active_height_mm)
    opening = scene.housing.opening_mm(min(part.z_mm, scene.housing.depth_mm))
    for axis, key in enumerate(("width_mm", "height_mm")):
        size = getattr(part, key)
        if size is None:
            continue
        way = (part.z_mm - facts.lamp_mm) / (panel.z_mm - facts.lamp_mm)
        lamp = facts.lamp_size_mm[axis]
        light = lamp + way * (active[axis] - lamp)
        path = join_path("train", name, key)
        if part.z_mm < panel.z_mm and size < LEAST_COVER * light:
            yield SceneWarning(
                path,
                size,
                f"light on its way from the lamp to the panel is {number(light)} mm wide here and "
                "passes beside the sheet",
                "usual: as large as the light",
            )
        elif size > FAR_TOO_LARGE * max(opening[axis], outer[axis]):
            yield SceneWarning(
                path, size, "reaches far beyond the light", "usual: about as large as the panel"
            )


def _behind_panel(scene: Scene, name: str, part: Sheet) -> Iterator[SceneWarning]:
    if part.z_mm > scene.panel.z_mm and isinstance(part, Diffuser | PrismFilm):
        yield SceneWarning(
            join_path("train", name, "z_mm"),
            part.z_mm,
            "stands behind the panel, where it blurs the picture",
            "usual: between the emitters and the panel",
        )
