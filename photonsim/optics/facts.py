"""First-order facts of a scene: what formulae tell before a photon is traced."""

from __future__ import annotations

import math
from dataclasses import dataclass

from photonsim.optics.acceptance import Acceptance, acceptance_of
from photonsim.optics.first_order import (
    brightest_flux,
    lambertian_etendue,
    recycled_luminance,
)
from photonsim.optics.objective import thin_lenses
from photonsim.optics.paraxial import (
    Image,
    ThinLens,
    View,
    image_back,
    image_of,
    parallel_focus,
    view_of_stop,
)
from photonsim.optics.sources import sources_of
from photonsim.scene import Diffuser, IdealLens, PrismFilm, Scene, scatter
from photonsim.scene.stands import glowing

# ASTM D1003 (section 1.1) takes a material with more haze than this for a diffusing one.
DIFFUSING_HAZE = 0.3


@dataclass(frozen=True)
class LensFacts:
    """What a lens images, together with the lenses on its way.

    `lamp` is the lamp's image by this lens and those before it, `panel` the panel's by this lens
    and those between (None before the panel), `stop` the stop as it appears from before this lens.
    """

    name: str
    lamp: Image
    panel: Image | None
    stop: Image


@dataclass(frozen=True)
class Facts:
    """First-order facts. Étendue in mm² sr, flux in lm, lengths in mm.

    `transmittance` is that of the panel and of ideal lenses, without what faces of glass reflect.
    The ceilings bound the flux through the stop before the transmittances of panel and lenses:
    `ceiling_lm` as long as no light comes back to an emitter, `recycled_ceiling_lm` always. The one
    for the picture, `picture_ceiling_lm`, has them in it, and what polarised light may gain.
    `view` and `acceptance` are None where the stop lies in an image of the panel. `field_lens`
    names the lens nearest to the panel, if it is nearer to the panel than to the stop; behind it,
    parallel light crosses the axis at `parallel_mm` and light from the lamp at `lamp_image_mm`.
    """

    emitter_etendue: float
    panel_etendue: float
    view: View | None
    acceptance: Acceptance | None
    ceiling_lm: float
    recycled_ceiling_lm: float
    picture_ceiling_lm: float
    transmittance: float
    lamp_mm: float
    lamp_size_mm: tuple[float, float]
    lenses: tuple[LensFacts, ...]
    field_lens: str | None
    parallel_mm: float
    lamp_image_mm: float


def facts_of(scene: Scene) -> Facts:
    """Work out the first-order facts of a scene."""
    panel, stop = scene.panel, scene.stop
    lenses = thin_lenses(scene)
    behind = [name for name, lens in lenses.items() if lens.z_mm > panel.z_mm]
    corner = 0.5 * (panel.active_width_mm**2 + panel.active_height_mm**2) ** 0.5
    view = view_of_stop(panel.z_mm, corner, stop.z_mm, 0.5 * stop.diameter_mm, scene.bends(behind))
    acceptance = acceptance_of(scene) if view else None
    groups = list(scene.emitters.values())
    sources = [(source, group.reflectance) for group in groups for source in sources_of(group)]
    bound = acceptance.bound_mm2sr if acceptance else 0.0
    most = recycled_luminance(sources)
    lamp_mm, lamp_size = _lamp(scene)
    name = _field_lens(scene)
    passed = [part.transmittance for part in scene.train.values() if isinstance(part, IdealLens)]
    transmittance = math.prod(passed, start=panel.transmittance)
    # Light along the panel's axis passes twice as well as its transmittance says; but each of the
    # two polarisations can have half of the luminance only (derived: étendue is kept for each).
    most_seen = scene.flux_lm * (1.0 if panel.polariser_deg is None else 2.0)
    if acceptance:
        most_seen = min(most_seen, most * bound)
    onwards = [other for other in lenses if name and lenses[other].z_mm >= lenses[name].z_mm]
    return Facts(
        emitter_etendue=sum(lambertian_etendue(group.face_mm2 * group.count) for group in groups),
        panel_etendue=lambertian_etendue(panel.active_width_mm * panel.active_height_mm),
        view=view,
        acceptance=acceptance,
        ceiling_lm=brightest_flux([source for source, _ in sources], bound) if bound else 0.0,
        recycled_ceiling_lm=min(scene.flux_lm, most * bound) if bound else 0.0,
        picture_ceiling_lm=most_seen * transmittance,
        transmittance=transmittance,
        lamp_mm=lamp_mm,
        lamp_size_mm=lamp_size,
        lenses=tuple(_lens_facts(scene, lenses, name, lamp_mm) for name in lenses),
        field_lens=name,
        parallel_mm=parallel_focus(scene.bends(onwards)) if onwards else 0.0,
        lamp_image_mm=image_of(lamp_mm, scene.bends(list(lenses))).z_mm if lenses else 0.0,
    )


def diffusers_before_panel(scene: Scene) -> list[Diffuser]:
    """The sheets, and matt sides, before the panel that scatter enough to count as diffusing."""
    parts = [p.back if isinstance(p, PrismFilm) else p for p in scene.train.values()]
    return [
        part
        for part in parts
        if isinstance(part, Diffuser)
        and part.z_mm < scene.panel.z_mm
        and haze_of(part) >= DIFFUSING_HAZE
    ]


def haze_of(diffuser: Diffuser) -> float:
    """Haze of a diffuser: as given, or that of its lobe."""
    if diffuser.opal:
        return 1.0
    if diffuser.haze is not None:
        return diffuser.haze
    return scatter.most_haze(diffuser.half_angle_deg or 90.0)  # the scene gives one of the two


def _lamp(scene: Scene) -> tuple[float, tuple[float, float]]:
    """Height and outline (width, height) in mm of what glows in the plane with the most flux."""
    flux: dict[float, float] = {}
    lit = glowing(scene)
    for group in lit:
        flux[group.z_mm] = flux.get(group.z_mm, 0.0) + group.flux_lm * group.count
    z_mm = max(flux, key=flux.__getitem__)
    groups = [group for group in lit if group.z_mm == z_mm]
    size = []
    for axis in (0, 1):
        places = [group.columns_mm() if axis == 0 else group.rows_mm() for group in groups]
        halves = [0.5 * group.size_mm[axis] for group in groups]
        low = min(row[0] - half for row, half in zip(places, halves, strict=True))
        high = max(row[-1] + half for row, half in zip(places, halves, strict=True))
        size.append(high - low)
    return z_mm, (size[0], size[1])


def _field_lens(scene: Scene) -> str | None:
    """The lens nearest to the panel, unless it is nearer to the stop."""
    panel_z, stop_z = scene.panel.z_mm, scene.stop.z_mm
    lenses = thin_lenses(scene)
    name = min(lenses, key=lambda name: abs(lenses[name].z_mm - panel_z), default=None)
    if name is None or abs(lenses[name].z_mm - panel_z) > stop_z - lenses[name].z_mm:
        return None
    return name


def _lens_facts(scene: Scene, lenses: dict[str, ThinLens], name: str, lamp_mm: float) -> LensFacts:
    here, panel_z = lenses[name].z_mm, scene.panel.z_mm
    so_far = [other for other, lens in lenses.items() if lens.z_mm <= here]
    behind_panel = [other for other in so_far if lenses[other].z_mm > panel_z]
    onwards = [other for other, lens in lenses.items() if lens.z_mm >= here]
    return LensFacts(
        name=name,
        lamp=image_of(lamp_mm, scene.bends(so_far)),
        panel=image_of(panel_z, scene.bends(behind_panel)) if behind_panel else None,
        stop=image_back(scene.stop.z_mm, scene.bends(onwards)),
    )
