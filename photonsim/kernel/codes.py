"""Codes and array columns shared by the program that is written and the kernel that reads it.

Plain data only: this module may be imported without numba.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

# --- Layers: a scene becomes a stack of planes, numbered upwards from the base -------------------
# What is known of each stands in KINDS, below the columns.
BASE = 0
EMITTERS = 1
OPENING = 2
DIFFUSER = 3
PRISM_FILM = 4
CLEAR_PLATE = 5
PANEL = 6
IDEAL_LENS = 7
STOP = 8
LENS_FACE = 9
FRESNEL_LENS = 10
# A plane of no substance above everything: light that comes up to it has left for the screen.
END = 11
ABSORBING_POLARISER = 12
REFLECTIVE_POLARISER = 13
POLARISERS = (ABSORBING_POLARISER, REFLECTIVE_POLARISER)
# The two faces of one part, the lamp's side first: see kernel.light_plate.
LIGHT_PLATE = 14
LIGHT_PLATE_FRONT = 15
# The next is 32: the bits between are other traits.
KIND_NUMBERS = (*range(16), *range(32, 63))

# --- Program.traits: a bit for every kind of layer that is there (1 << kind), and some more -------
# A GPU's kernel is compiled for them: 60 % of its time went by in waiting for instructions, so it
# should be short, and what no part needs is left out.
ROUND_EMITTERS = 1 << 16
COSINE_POWERS = 1 << 17
MEASURED_LOBES = 1 << 18
EMITTER_GROUPS = 1 << 19
WAVELENGTHS = 1 << 20
LISTED_STRIPS = 1 << 21
FLAT_TIPS = 1 << 22
ABSORBING_FILM = 1 << 23
PANEL_SCATTER = 1 << 24
PANEL_ANGLES = 1 << 25
SCREEN = 1 << 26
GUIDED = 1 << 27
POLARISED = 1 << 28
THICK_SHEETS = 1 << 29
COATED_FILM = 1 << 30

# --- What bounds the space between one layer and the next sideways --------------------------------
SIDE_FREE = 0
SIDE_WALL = 1
SIDE_BARE = 2

# --- Fates: a few common ones, then three for every layer -----------------------------------------
FATE_STOP = 0
FATE_GUARD = 1
FATE_SIDEWAYS = 2
FATE_WALLS = 3
FATE_LAYERS = 4
FATES_PER_LAYER = 3
ABSORBED = 0
BLOCKED = 1
PASSED_BY = 2
# No light passes by a Fresnel lens: its third is what its tips and black groove walls take.
GROOVE_WALLS = 2
# A light plate has two layers, and its fates run on into the codes of the second.
IN_PLATE = 0
AT_DOTS = 1
AT_REFLECTOR = 2
AT_LIT_EDGE = 3
AT_OTHER_EDGES = 4
NOT_TAKEN_IN = 5


def layer_fate(layer: int, how: int) -> int:
    """Return the code of the fate `how` (ABSORBED, BLOCKED, PASSED_BY, ...) at a layer."""
    return FATE_LAYERS + FATES_PER_LAYER * layer + how


# --- Columns of Program.layer_real, by kind of layer ----------------------------------------------
LAYER_REALS = 12
# Any surface: base, emitter face, panel frame, walls.
REFLECTANCE = 0
SPECULAR_SHARE = 1
# Panel: frame outline stands in layer_half_x, layer_half_y.
PANEL_HALF_X = 2
PANEL_HALF_Y = 3
PANEL_KEPT = 6
# The direction that its rear polariser blocks; (0, 0) where none is told.
PANEL_BLOCKS_X = 7
PANEL_BLOCKS_Y = 8
# Diffuser.
DIFFUSER_TRANSMITTANCE = 2
DIFFUSER_KEEPS = 3
# What scatters, a diffuser or the panel: see kernel.diffuser.
LOBE_SIGMA = 4
LOBE_DIRECT = 5
# Prism film.
FILM_COS_HALF_APEX = 2
FILM_SIN_HALF_APEX = 3
FILM_COS_ALONG = 4
FILM_SIN_ALONG = 5
FILM_TIP = 6
FILM_KEPT = 7
# +1: ridges to the screen, -1: to the lamp.
FILM_SIDE = 11
# Clear plate.
PLATE_KEPT = 2
# Polarisers: shares through and back of light along and across the pass axis, and the direction
# across it, x and y in two columns, whose part in the field is blocked.
POLARISER_PASS = 2
POLARISER_BLOCK = 3
POLARISER_PASS_BACK = 4
POLARISER_BLOCK_BACK = 5
POLARISER_X = 6
# Ideal lens and aperture stop: squared radius; signed reciprocal conjugates enter as distances.
RADIUS_SQUARED = 2
LENS_NEAR = 3
LENS_FAR = 4
LENS_KEPT = 5
# Face of a real lens, beside its squared radius; a coating below 0 stands for none.
FACE_CURVATURE = 3
FACE_CONIC = 4
FACE_COATING = 5
FACE_RADIUS = 6
FACE_SAG = 7
# Fresnel lens, beside its squared radius. Side +1: grooves to the screen, -1: to the lamp.
GROOVES_SIDE = 3
GROOVES_PER_STEP = 4
# Tangent of the draft faces' lean, and the share of a facet's width that is rounded tip.
GROOVES_DRAFT = 5
GROOVES_TIP = 6
GROOVES_BLACK = 7
# Light plate, its back's row: stuff, dots, and the reflector behind (below 0: none). The way on
# which the dots' share depends is |DOTS_X x + DOTS_Y y + DOTS_FROM|.
PLATE_ABSORPTION = 0
DOT_REFLECTANCE = 9
DOT_SHARE = 2
DOTS_PER_MM = 3
DOTS_X = 4
DOTS_Y = 5
DOTS_FROM = 6
REFLECTOR_REFLECTANCE = 7
REFLECTOR_SPECULAR_SHARE = 8
# Its front's row: of each edge, in the order of EDGES, its finish and what belongs to that: the
# reflectance of what is on it, or the share of a lit one that emitters in contact cover.
EDGE_FINISH = 4
EDGE_SHARE = 8
FINISHES = ("bare", "mirrored", "white", "lit")
BARE_EDGE, MIRRORED_EDGE, WHITE_EDGE, LIT_EDGE = range(4)
EDGES = ("-x", "+x", "-y", "+y")
# Any sheet: its thickness in mm where light is traced within, below 0 at its screen side's layer.
SHEET_THICKNESS = 1
# Regular strips on any sheet.
STRIP_PER_PITCH = 8
STRIP_SHIFT = 9
STRIP_SHARE = 10

# --- Columns of Program.layer_whole ---------------------------------------------------------------
LAYER_WHOLES = 6
CUT = 0
CUT_FIRST = 1
CUT_COUNT = 2
TABLE_FIRST = 3
TABLE_COUNT = 4
# Emitters: their group.
GROUP = 5
# Panel: an angle table's place is kept apart from its scatter table.
ANGLE_FIRST = 1
ANGLE_COUNT = 2

# Values of the CUT column: what is no sheet reaches as far as its own file says.
NO_SHEET = 0
WHOLE = 1
REGULAR_X = 2
REGULAR_Y = 3
LISTED_X = 4
LISTED_Y = 5


# --- Kinds of layers ------------------------------------------------------------------------------
class LayerFate(NamedTuple):
    """A way to end at a layer: its code, see layer_fate, its group, and words around the name."""

    how: int
    group: str
    words: str


ABSORBS = LayerFate(ABSORBED, "absorbed", "absorbed by {}")
HAS_RIM = LayerFate(BLOCKED, "blocked", "stopped by rim of {}")


class Kind(NamedTuple):
    """What there is to know of a kind of layer; a part's files in scene/ and kernel/ bear its name.

    `fates` are the ways to end there, by rising code. `figures` are columns of layer_real by the
    attribute of the scene's model that is written there; what takes more than copying,
    program/build.py writes. The kernel's file has a function `cross(program, layer, wavelength,
    photon)`, see history.meet_layer.
    """

    code: int
    name: str
    fates: tuple[LayerFate, ...] = ()
    figures: Mapping[str, int] = MappingProxyType({})


POLARISER_FIGURES = {
    "pass_transmittance": POLARISER_PASS,
    "block_transmittance": POLARISER_BLOCK,
    "pass_reflectance": POLARISER_PASS_BACK,
    "block_reflectance": POLARISER_BLOCK_BACK,
}
# In the order in which a photon asks which of them it has met.
PARTS = (
    Kind(
        PRISM_FILM,
        "prism_film",
        (ABSORBS,),
        {"flat_tip_share": FILM_TIP, "kept": FILM_KEPT},
    ),
    Kind(
        PANEL,
        "panel",
        (ABSORBS, LayerFate(PASSED_BY, "escaped", "escaped past {}")),
        {"frame_reflectance": REFLECTANCE, "transmittance": PANEL_KEPT},
    ),
    Kind(STOP, "aperture_stop", (HAS_RIM,)),
    Kind(
        DIFFUSER,
        "diffuser",
        (ABSORBS,),
        {"reflectance": REFLECTANCE, "transmittance": DIFFUSER_TRANSMITTANCE},
    ),
    Kind(IDEAL_LENS, "ideal_lens", (ABSORBS, HAS_RIM)),
    # A face of glass takes nothing.
    Kind(LENS_FACE, "real_lens", (HAS_RIM,)),
    Kind(
        FRESNEL_LENS,
        "fresnel_lens",
        (
            LayerFate(ABSORBED, "absorbed", "trapped in {}"),
            HAS_RIM,
            LayerFate(GROOVE_WALLS, "absorbed", "lost at groove walls and tips of {}"),
        ),
        {"rounded_tip_share": GROOVES_TIP},
    ),
    Kind(CLEAR_PLATE, "clear_plate", (ABSORBS,), {"kept": PLATE_KEPT}),
    Kind(ABSORBING_POLARISER, "absorbing_polariser", (ABSORBS,), POLARISER_FIGURES),
    Kind(REFLECTIVE_POLARISER, "reflective_polariser", (ABSORBS,), POLARISER_FIGURES),
    Kind(
        LIGHT_PLATE,
        "light_plate",
        (
            LayerFate(IN_PLATE, "absorbed", "absorbed within {}"),
            LayerFate(AT_DOTS, "absorbed", "absorbed by dots of {}"),
            LayerFate(AT_REFLECTOR, "absorbed", "absorbed by reflector of {}"),
            LayerFate(AT_LIT_EDGE, "escaped", "escaped through lit edges of {}"),
            LayerFate(AT_OTHER_EDGES, "escaped", "lost at other edges of {}"),
            LayerFate(NOT_TAKEN_IN, "escaped", "reflected by lit edges of {}"),
        ),
        {"absorption_per_mm": PLATE_ABSORPTION, "dot_reflectance": DOT_REFLECTANCE},
    ),
)
# Second faces of parts that are two layers: the part's name, and no fates of their own.
SECOND_FACES = (Kind(LIGHT_PLATE_FRONT, "light_plate"),)
KINDS = {
    kind.code: kind
    for kind in (
        *PARTS,
        *SECOND_FACES,
        Kind(BASE, "base", (ABSORBS,)),
        Kind(EMITTERS, "emitters", (ABSORBS,)),
        Kind(OPENING, "opening", (LayerFate(PASSED_BY, "escaped", "escaped outside the {}"),)),
        Kind(END, "end"),
    )
}
if len(KINDS) < len(PARTS) + len(SECOND_FACES) + 4 or not KINDS.keys() <= {*KIND_NUMBERS}:
    raise ValueError("kinds of layers need codes of their own, one of KIND_NUMBERS each")

# --- Columns of Program.emitter_real and Program.emitter_whole ------------------------------------
EMITTER_REALS = 9
FIRST_X = 0
FIRST_Y = 1
PITCH_X = 2
PITCH_Y = 3
HALF_WIDTH = 4
HALF_HEIGHT = 5
# 1/(m + 1) of an intensity cos**m; 0 for a lobe from a table.
COSINE_ROOT = 6
PER_PITCH_X = 7
PER_PITCH_Y = 8
EMITTER_WHOLES = 7
EMITTER_LAYER = 0
COLUMNS = 1
ROWS = 2
# Which of FORMS each has: on an edge it is a rectangle.
FORM = 3
FORMS = ("rectangle", "disc", *EDGES)
DISC, FIRST_EDGE = 1, 2
# A lobe from a table: its place in Program.tables and its numbers of cells. There stand the edges
# of the cells, POLAR_CELLS + 1 cosines and AZIMUTH_CELLS + 1 shares of a turn, then for every cell
# (azimuth fastest) the number below which it is kept, then the cell that is taken instead.
LOBE_FIRST = 4
POLAR_CELLS = 5
AZIMUTH_CELLS = 6

# --- Entries of Program.walls ---------------------------------------------------------------------
WALL_ENTRIES = 7
WALL_REFLECTANCE = 0
WALL_SPECULAR_SHARE = 1
WALL_HALF_X = 2
WALL_HALF_Y = 3
WALL_TAN = 4
WALL_COS = 5
WALL_SIN = 6

# --- Entries of Program.screen --------------------------------------------------------------------
SCREEN_ON = 0
SCREEN_Z = 1
SCREEN_PER_MAGNIFICATION = 2
# Distance from the end of the train over the magnification: brings slopes to the panel's scale.
SCREEN_THROW = 3
# Chief ray: place and slope of a panel point p, over p, as polynomials in p**2 of so many terms.
SCREEN_TERMS = 4
SCREEN_PLACE = 4
SCREEN_SLOPE = SCREEN_PLACE + SCREEN_TERMS
SCREEN_ENTRIES = SCREEN_SLOPE + SCREEN_TERMS

# --- What is counted by name; the tallies themselves stand in kernel.tallies ----------------------
INCIDENT = 0
COLLECTED = 1
SUM_U = 2
SUM_V = 3
SUM_UU = 4
SUM_VV = 5

SCREEN_COUNT = 0
SCREEN_STRAY = 1
SCREEN_DX = 2
SCREEN_DY = 3
SCREEN_DXX = 4
SCREEN_DYY = 5
SCREEN_DXY = 6
SCREEN_EX = 7
SCREEN_EY = 8
SCREEN_EE = 9
SCREEN_DE = 10
# Farther than this off its place light is stray whatever the lens, so that no sum can overflow.
FARTHEST_MM = 64.0
# Below the first wavelength light counts as blue, from the second on as red, between as green.
GREEN_FROM_NM = 490.0
RED_FROM_NM = 590.0
BLUE, GREEN, RED = range(3)
# A history that met this many surfaces is given up: FATE_GUARD.
EVENT_LIMIT = 4000
