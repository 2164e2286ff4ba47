"""Warnings about what makes the picture: panel, lenses and stop."""

from __future__ import annotations

import math
from collections.abc import Iterator

from photonsim.optics.facts import Facts, diffusers_before_panel
from photonsim.optics.objective import thin_lenses
from photonsim.optics.paraxial import ThinLens
from photonsim.scene import Scene
from photonsim.scene.mistakes import join_path
from photonsim.warnings.warning import SceneWarning
from photonsim.words.text import number

# An ideal polariser passes half of unpolarised light (Malus); colour panels pass 5 to 10 %
# (W. den Boer, Active Matrix Liquid Crystal Displays, section 6.1).
MOST_TRANSMITTANCE = 0.5
SQUARE_PIXELS = 0.05
FIELD_LENS_SLACK = 0.2
MOST_CUT = 0.02
# sin θ = 1 / (2 N) reaches 1 here: no aplanatic lens is faster.
FASTEST_LENS = 0.5
# A lens this near the stop, relative to the panel's distance, shares the stop's place.
BESIDE_STOP = 0.1


def imaging_warnings(scene: Scene, facts: Facts) -> Iterator[SceneWarning]:
    """Every warning about panel, lenses and stop."""
    yield from _panel(scene)
    for name, lens in thin_lenses(scene).items():
        yield from _speed(name, lens)
    yield from _field_lens(scene, facts)
    yield from _condenser_rim(scene, facts)
    yield from _stop(scene, facts)


def _panel(scene: Scene) -> Iterator[SceneWarning]:
    name, panel = scene.panel_name, scene.panel
    told = {"transmittance", "polariser_deg"} & panel.model_fields_set
    if panel.transmittance > MOST_TRANSMITTANCE and told:
        yield SceneWarning(
            join_path("train", name, "transmittance"),
            panel.transmittance,
            "a panel's first polariser alone takes half of the light",
            "usual: 0.05 to 0.1 for a colour LCD, up to 0.4 without colour filters",
        )
    width = panel.active_width_mm / panel.columns
    height = panel.active_height_mm / panel.rows
    if abs(math.log(width / height)) > math.log1p(SQUARE_PIXELS):
        yield SceneWarning(
            join_path("train", name, "columns"),
            panel.columns,
            f"the pixels are {number(width)} mm wide and {number(height)} mm high",
            f"usual: square pixels, here {panel.active_width_mm / height:.0f} columns for "
            f"{panel.rows} rows",
        )


def _speed(name: str, lens: ThinLens) -> Iterator[SceneWarning]:
    if abs(lens.focal_mm) < FASTEST_LENS * lens.diameter_mm:
        yield SceneWarning(
            join_path("train", name, "focal_mm"),
            lens.focal_mm,
            f"{lens.diameter_mm:g} mm from rim to rim, the lens would be "
            f"f/{number(abs(lens.focal_mm) / lens.diameter_mm, 2)}",
            "usual: a single lens is slower than f/0.6; share the power among several",
        )


def _field_lens(scene: Scene, facts: Facts) -> Iterator[SceneWarning]:
    """The field lens should bring parallel light, or that of the lamp, to the stop."""
    if facts.field_lens is None:
        return
    lens = thin_lenses(scene)[facts.field_lens]
    distance = scene.stop.z_mm - lens.z_mm
    crossings = (facts.parallel_mm, facts.lamp_image_mm)
    if min(abs(z - scene.stop.z_mm) for z in crossings) <= FIELD_LENS_SLACK * distance:
        return
    parallel, lamp = (_crossing(z, lens.z_mm) for z in crossings)
    yield SceneWarning(
        join_path("train", facts.field_lens, "focal_mm"),
        lens.focal_mm,
        f"parallel light meets the axis {parallel} and the lamp's light {lamp}, both far from the "
        f"stop at z = {scene.stop.z_mm:g} mm",
        f"usual: a focal length near the distance to the stop, {number(distance)} mm, or one that "
        "images the lamp into the stop",
    )


def _crossing(z_mm: float, lens_mm: float) -> str:
    if math.isinf(z_mm):
        return "nowhere"
    return f"at z = {number(z_mm, 4)} mm" + " (virtual)" * (z_mm < lens_mm)


def _condenser_rim(scene: Scene, facts: Facts) -> Iterator[SceneWarning]:
    """Whether the last lens before the panel is wide enough for the light of the corners."""
    panel = scene.panel
    before = {n: lens for n, lens in thin_lenses(scene).items() if lens.z_mm < panel.z_mm}
    if not before or facts.view is None:
        return
    name, lens = list(before.items())[-1]
    if any(sheet.z_mm > lens.z_mm for sheet in diffusers_before_panel(scene)):
        return
    corner = 0.5 * math.hypot(panel.active_width_mm, panel.active_height_mm)
    slope = math.tan(math.radians(facts.view.corner_leaves_deg))
    grown = 1.0 + (panel.z_mm - lens.z_mm) * slope / corner
    picture = (panel.active_width_mm, panel.active_height_mm)
    needed = (2.0 * corner,) if lens.sides_mm is None else picture
    keys, sizes = scene.train[name].outline_keys, scene.part_size_mm(name)
    # A round lens has one key for both sides, and one size is needed.
    for key, size, least in zip(keys, sizes, needed, strict=False):
        if size < grown * least:
            yield SceneWarning(
                join_path("train", name, key),
                size,
                "too small to send light through the panel's corners to the stop",
                f"usual: more than {number(grown * least)} mm here",
            )


def _stop(scene: Scene, facts: Facts) -> Iterator[SceneWarning]:
    stop, path = scene.stop, join_path("train", scene.stop_name)
    if facts.acceptance is None:
        yield SceneWarning(
            f"{path}.z_mm",
            stop.z_mm,
            "the lenses image the panel here, so the stop cuts the picture and not its light",
            "usual: the stop where the field lens gathers the light",
        )
        return
    reach = BESIDE_STOP * (stop.z_mm - scene.panel.z_mm)
    for name, share in facts.acceptance.cut_by.items():
        lens = thin_lenses(scene)[name]
        sizes, keys = scene.part_size_mm(name), scene.train[name].outline_keys
        narrowest, key = min(zip(sizes, keys, strict=True))
        if stop.z_mm - lens.z_mm < reach and narrowest < stop.diameter_mm:
            yield SceneWarning(
                f"{path}.diameter_mm",
                stop.diameter_mm,
                f"larger than {name} beside it ({narrowest:g} mm), whose rim is then the real stop",
                "usual: the stop is the smaller of the two",
            )
        elif share > MOST_CUT:
            yield SceneWarning(
                join_path("train", name, key),
                narrowest,
                f"cuts off {100 * share:.0f} % of the panel's light that the stop would take",
                "usual: a lens wide enough to fill the stop from every corner of the panel",
            )
