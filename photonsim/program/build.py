"""From a scene to the program that the kernel reads."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from photonsim.arrays import Reals
from photonsim.kernel import codes
from photonsim.kernel.tallies import CELLS
from photonsim.program import emission
from photonsim.program.landing import with_screen
from photonsim.program.layers import KIND_CODES, Layer, cemented_to, gap_sides, layers_of
from photonsim.program.light_plate import write_plate
from photonsim.program.program import Program
from photonsim.program.traits import traits_of
from photonsim.scene import (
    ApertureStop,
    Base,
    Diffuser,
    Emitter,
    FresnelLens,
    IdealLens,
    LightPlate,
    Panel,
    PrismFilm,
    RealLens,
    Scene,
    Strips,
    TrainPart,
    scatter,
)
from photonsim.scene.lm63 import read_lm63
from photonsim.scene.polariser import PLASTIC, Polariser
from photonsim.scene.real_lens import sag_mm
from photonsim.scene.sheet import ClearSheet, Sheet

# Kept, since designs of a study mostly share their sheets.
lobe_of = lru_cache(maxsize=256)(scatter.lobe_of)
returned_squared_radii = lru_cache(maxsize=64)(scatter.returned_squared_radii)
# Facet tilts are tabled at this many radii: interpolated, within 1e-6 of the design.
FACET_STEPS = 513


def build_program(scene: Scene, layers: list[Layer] | None = None) -> Program:
    """Return the program of a scene, in double precision; `layers` are layers_of the scene."""
    layers = layers or layers_of(scene)
    stack = _Stack(scene, layers)
    for number, layer in enumerate(layers):
        stack.write(number, layer)
    kinds, names = [layer.kind for layer in layers], [layer.name for layer in layers]
    emitter_whole = [
        [
            kinds.index(codes.LIGHT_PLATE) if group.edge else names.index(name),
            group.columns,
            group.rows,
            codes.FORMS.index(group.edge or group.shape),
            *stack.lobe_table(group),
        ]
        for name, group in scene.emitters.items()
    ]
    flux = [group.flux_lm * group.count for group in scene.emitters.values()]
    panel, stop = scene.panel, scene.stop
    program = Program(
        layer_kind=np.array([layer.kind for layer in layers], dtype=np.int64),
        layer_z=np.array([layer.z_mm for layer in layers]),
        layer_half_x=stack.half_x,
        layer_half_y=stack.half_y,
        layer_real=stack.real,
        layer_whole=stack.whole,
        layer_index=stack.index,
        layer_index_below=stack.index_below,
        gap_side=np.array(gap_sides(scene, layers), dtype=np.int64),
        walls=_walls(scene),
        emitter_shares=_cumulative([value / sum(flux) for value in flux]),
        emitter_real=np.array([_emitter_real(group) for group in scene.emitters.values()]),
        emitter_whole=np.array(emitter_whole, dtype=np.int64),
        wavelength_shares=_cumulative(scene.light.normalised_shares),
        strip_edges=np.array(stack.edges or [0.0]),
        tables=np.concatenate(stack.tables) if stack.tables else np.zeros(1),
        panel_per_width=1.0 / panel.active_width_mm,
        panel_per_height=1.0 / panel.active_height_mm,
        stop_per_radius=2.0 / stop.diameter_mm,
        screen=np.zeros(codes.SCREEN_ENTRIES),
        spot_per_mm=np.zeros(CELLS * CELLS),
        colour_of=np.searchsorted(
            [codes.GREEN_FROM_NM, codes.RED_FROM_NM], scene.light.wavelengths_nm, side="right"
        ).astype(np.int64),
        guide=np.zeros(1, dtype=np.int32),
        traits=0,
    )
    program = with_screen(program, scene)
    return program._replace(traits=traits_of(program))


class _Stack:
    """The arrays that describe layers, filled one layer at a time."""

    def __init__(self, scene: Scene, layers: list[Layer]) -> None:
        n = len(layers)
        self.scene, self.layers = scene, layers
        self.half_x, self.half_y = np.zeros(n), np.zeros(n)
        self.real = np.zeros((n, codes.LAYER_REALS))
        self.whole = np.zeros((n, codes.LAYER_WHOLES), dtype=np.int64)
        self.index = np.ones((n, len(scene.light.wavelengths_nm)))
        self.index_below = np.ones_like(self.index)
        self.edges: list[float] = []
        self.tables: list[Reals] = []

    def write(self, number: int, layer: Layer) -> None:
        """Fill in one layer."""
        if layer.kind == codes.BASE:
            width, height = self.scene.housing.opening_mm(0.0)
            self._surface(number, self.scene.housing.base)
        elif layer.kind == codes.EMITTERS:
            width = height = 0.0
            self._surface(number, self.scene.emitters[layer.name])
            self.whole[number, codes.GROUP] = list(self.scene.emitters).index(layer.name)
        elif layer.kind == codes.OPENING:
            width, height = self.scene.housing.opening_mm(layer.z_mm)
        elif layer.kind == codes.END:
            width = height = 0.0
        else:
            width, height = self.scene.part_size_mm(layer.name)
            part = self.scene.train[layer.name]
            if isinstance(part, PrismFilm) and layer.side == "back":
                part = part.back or part
            if layer.kind == codes.LENS_FACE:
                self._face(number, layer)
            elif layer.kind != codes.LIGHT_PLATE_FRONT:  # which is written with the plate's back
                self._part(number, part, width, height)
            if isinstance(part, Sheet) and part.is_thick:
                sign = 1.0 if layer.side == "lamp" else -1.0
                self.real[number, codes.SHEET_THICKNESS] = sign * part.thickness_mm
                self.index[number] = self._indices(part)
        self.half_x[number], self.half_y[number] = 0.5 * width, 0.5 * height

    def lobe_table(self, group: Emitter) -> tuple[int, int, int]:
        """Add the table of a measured lobe, if there is one; return its place and its cells."""
        if group.lm63_text is None:
            return 0, 0, 0
        cells, table = _measured_lobe(group.lm63_text, group.lm63_turn_deg)
        return self._add_table(table)[0], len(cells.cosines) - 1, len(cells.turns) - 1

    def _add_table(self, values: Reals) -> tuple[int, int]:
        """Add a tabulated function; return its place and its length."""
        first = sum(map(len, self.tables))
        self.tables.append(values)
        return first, len(values)

    def _part(self, number: int, part: TrainPart, width: float, height: float) -> None:
        """Fill in the figures of a part; where that is not all, a method has the kind's name."""
        kind = codes.KINDS[KIND_CODES[part.kind]]
        for figure, column in kind.figures.items():
            self.real[number, column] = getattr(part, figure)
        if isinstance(part, ClearSheet | FresnelLens | LightPlate | Polariser):
            self.index[number] = self._indices(part)
        if isinstance(part, Sheet):
            self._cut(number, part.strips, width, height)
        if isinstance(part, Polariser):
            self._axis(number, codes.POLARISER_X, part.pass_deg)
        more = getattr(self, f"_{part.kind}", None)
        if more is not None:
            more(number, part)

    def _axis(self, number: int, column: int, pass_deg: float) -> None:
        """Fill in the direction in a sheet across one that is given in degrees from x."""
        turn = math.radians(pass_deg)
        self.real[number, [column, column + 1]] = math.sin(turn), -math.cos(turn)

    def _surface(self, number: int, surface: Base | Emitter) -> None:
        self.real[number, codes.REFLECTANCE] = surface.reflectance
        self.real[number, codes.SPECULAR_SHARE] = surface.specular_share

    def _cut(self, number: int, strips: Strips | None, width: float, height: float) -> None:
        self.whole[number, codes.CUT] = codes.WHOLE
        if strips is None:
            return
        across_x = strips.across == "x"
        if strips.covered_mm is None:
            assert strips.width_mm is not None and strips.pitch_mm is not None
            self.whole[number, codes.CUT] = codes.REGULAR_X if across_x else codes.REGULAR_Y
            share = strips.width_mm / strips.pitch_mm
            offset = strips.offset_mm / strips.pitch_mm
            self.real[number, codes.STRIP_PER_PITCH] = 1.0 / strips.pitch_mm
            self.real[number, codes.STRIP_SHIFT] = 0.5 * share - offset
            self.real[number, codes.STRIP_SHARE] = share
            return
        self.whole[number, codes.CUT] = codes.LISTED_X if across_x else codes.LISTED_Y
        half = 0.5 * (width if across_x else height)
        edges = [edge for interval in strips.intervals_mm(-half, half) for edge in interval]
        self.whole[number, codes.CUT_FIRST] = len(self.edges)
        self.whole[number, codes.CUT_COUNT] = len(edges)
        self.edges += edges

    def _lobe(self, number: int, lobe: scatter.Lobe) -> None:
        self.real[number, [codes.LOBE_SIGMA, codes.LOBE_DIRECT]] = lobe
        if lobe.sigma > 0.0 and lobe.direct < 1.0:
            place = self._add_table(returned_squared_radii(lobe.sigma))
            self.whole[number, [codes.TABLE_FIRST, codes.TABLE_COUNT]] = place

    def _diffuser(self, number: int, part: Diffuser) -> None:
        lobe = lobe_of(part.haze, part.half_angle_deg, part.opal)
        self._lobe(number, lobe)
        self.real[number, codes.DIFFUSER_KEEPS] = 1.0 - part.depolarised_share

    def _prism_film(self, number: int, part: PrismFilm) -> None:
        half_apex, along = math.radians(part.apex_deg / 2), math.radians(part.along_deg)
        real = self.real[number]
        real[codes.FILM_COS_HALF_APEX] = math.cos(half_apex)
        real[codes.FILM_SIN_HALF_APEX] = math.sin(half_apex)
        real[codes.FILM_COS_ALONG] = math.cos(along)
        real[codes.FILM_SIN_ALONG] = math.sin(along)
        if part.base_index is not None:
            self.index_below[number] = part.base_index
        real[codes.FILM_SIDE] = 1.0 if part.ridges == "to_screen" else -1.0

    def _light_plate(self, number: int, part: LightPlate) -> None:
        size_mm = self.scene.part_size_mm(self.layers[number].name)
        groups = list(self.scene.emitters.values())
        self.whole[[number, number + 1], codes.CUT] = codes.WHOLE
        table = write_plate(self.real[number], self.real[number + 1], part, size_mm, groups)
        if table is not None:
            self.whole[number, [codes.TABLE_FIRST, codes.TABLE_COUNT]] = self._add_table(table)

    def _indices(self, part: Sheet | FresnelLens | LightPlate | RealLens) -> list[float]:
        return [part.index_at(nm) for nm in self.scene.light.wavelengths_nm]

    def _panel(self, number: int, part: Panel) -> None:
        self.real[number, codes.PANEL_HALF_X] = 0.5 * part.active_width_mm
        self.real[number, codes.PANEL_HALF_Y] = 0.5 * part.active_height_mm
        if part.polariser_deg is not None:
            self.index[number] = PLASTIC
            self._axis(number, codes.PANEL_BLOCKS_X, part.polariser_deg)
        lobe = lobe_of(part.haze or 0.0, None, False)
        self._lobe(number, lobe)
        if part.relative_transmittance is not None:
            cosines = np.linspace(0.0, 1.0, 1025)
            table = np.interp(
                np.degrees(np.arccos(cosines)),
                part.relative_transmittance.angle_deg,
                part.relative_transmittance.relative,
            )
            self.whole[number, [codes.ANGLE_FIRST, codes.ANGLE_COUNT]] = self._add_table(table)

    def _ideal_lens(self, number: int, part: IdealLens) -> None:
        real = self.real[number]
        real[codes.RADIUS_SQUARED] = (0.5 * part.diameter_mm) ** 2
        near, far = part.conjugates_mm
        real[codes.LENS_NEAR], real[codes.LENS_FAR] = near or 0.0, far or 0.0
        before_panel = part.z_mm < self.scene.panel.z_mm
        real[codes.LENS_KEPT] = part.transmittance if before_panel else 1.0

    def _face(self, number: int, layer: Layer) -> None:
        part = self.scene.train[layer.name]
        assert isinstance(part, RealLens)
        lamp_side = layer.side == "lamp"
        real = self.real[number]
        real[codes.RADIUS_SQUARED] = (0.5 * part.diameter_mm) ** 2
        real[codes.FACE_CURVATURE] = part.curvatures[0 if lamp_side else 1]
        real[codes.FACE_CONIC] = part.conic_lamp if lamp_side else part.conic_screen
        coating = part.coating_reflectance
        real[codes.FACE_COATING] = -1.0 if coating is None else coating
        (self.index if lamp_side else self.index_below)[number] = self._indices(part)
        after = cemented_to(self.scene, layer.name)
        if after is not None and not lamp_side:
            real[codes.RADIUS_SQUARED] = (0.5 * min(part.diameter_mm, after.diameter_mm)) ** 2
            self.index[number] = self._indices(after)
        radius = real[codes.FACE_RADIUS] = math.sqrt(real[codes.RADIUS_SQUARED])
        real[codes.FACE_SAG] = abs(
            sag_mm(real[codes.FACE_CURVATURE], real[codes.FACE_CONIC], radius)
        )

    def _fresnel_lens(self, number: int, part: FresnelLens) -> None:
        real = self.real[number]
        real[codes.RADIUS_SQUARED] = part.radius_mm**2
        real[codes.GROOVES_SIDE] = 1.0 if part.grooves == "to_screen" else -1.0
        real[codes.GROOVES_PER_STEP] = (FACET_STEPS - 1) / part.radius_mm
        real[codes.GROOVES_DRAFT] = math.tan(math.radians(part.draft_deg))
        real[codes.GROOVES_BLACK] = part.groove_walls == "black"
        place = self._add_table(_facets(part))
        self.whole[number, [codes.TABLE_FIRST, codes.TABLE_COUNT]] = place

    def _aperture_stop(self, number: int, part: ApertureStop) -> None:
        self.real[number, codes.RADIUS_SQUARED] = (0.5 * part.diameter_mm) ** 2


@lru_cache(maxsize=64)
def _facets(part: FresnelLens) -> Reals:
    """Return the tangents of a lens's facets at even steps of the radius."""
    radii = np.linspace(0.0, part.radius_mm, FACET_STEPS)
    return np.array([part.facet_tangent(radius) for radius in radii])


@lru_cache(maxsize=16)
def _measured_lobe(lm63: str, turn_deg: float) -> tuple[emission.Cells, Reals]:
    """Return the cells of a measured lobe and their alias table."""
    cells = emission.cells_of(read_lm63(lm63), turn_deg)
    return cells, emission.alias_table(cells)


def _walls(scene: Scene) -> Reals:
    entries = np.zeros(codes.WALL_ENTRIES)
    housing = scene.housing
    taper = math.radians(housing.walls.taper_deg) if housing.walls else 0.0
    if housing.walls is not None:
        entries[codes.WALL_REFLECTANCE] = housing.walls.reflectance
        entries[codes.WALL_SPECULAR_SHARE] = housing.walls.specular_share
    entries[codes.WALL_HALF_X] = 0.5 * housing.width_mm
    entries[codes.WALL_HALF_Y] = 0.5 * housing.height_mm
    entries[codes.WALL_TAN] = math.tan(taper)
    entries[codes.WALL_COS] = math.cos(taper)
    entries[codes.WALL_SIN] = math.sin(taper)
    return entries


def _emitter_real(group: Emitter) -> list[float]:
    width, height = group.size_mm
    pitch_x, pitch_y = group.pitch_x_mm or group.pitch_mm or 0.0, group.pitch_y_mm or 0.0
    return [
        group.columns_mm()[0],
        group.rows_mm()[0],
        pitch_x,
        pitch_y,
        0.5 * width,
        0.5 * height,
        # Half intensity at 60 degrees gives m = 1.0000000000000002: Lambertian all the same.
        1.0 / (1.0 + round(group.exponent, 9)) if group.lm63_text is None else 0.0,
        1.0 / pitch_x if group.columns > 1 else 0.0,
        1.0 / pitch_y if group.rows > 1 else 0.0,
    ]


def _cumulative(shares: Sequence[float]) -> Reals:
    total = np.cumsum(np.asarray(shares, dtype=float))
    total[-1] = 1.0
    return total
