"""What there is to cut for a scene: its parts as flat pieces."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from textwrap import shorten

from photonsim.results import ResultError
from photonsim.scene import FresnelLens, LightPlate, Panel, PrismFilm, Scene
from photonsim.scene.emitters import Emitter
from photonsim.scene.polariser import Polariser
from photonsim.scene.sheet import Sheet
from photonsim.scene.stands import on_board
from photonsim.workshop.board_plan import board_plan
from photonsim.workshop.light_plate import light_plate
from photonsim.workshop.mounts import Mount, board_words, mounts_of, wall_across_mm
from photonsim.workshop.pieces import Arrow, Circle, Line, Note, Piece, rectangle
from photonsim.workshop.wall_net import walls_of

# Two thin wires with their insulation, and a drill that every workshop has.
WIRE_HOLE_MM = 3.0
WIRE_HOLE_GAP_MM = 4.0
# Letters that tell a plan in a few lines.
MOST_TOLD = 400
SHEET_STUFF = {"diffuser": "diffuser sheet"}


@dataclass(frozen=True)
class CuttingPlan:
    """The pieces of a scene at their nominal size, the kerf to cut them with, and remarks."""

    title: str
    pieces: tuple[Piece, ...]
    kerf_mm: float
    remarks: tuple[str, ...]

    def __repr__(self) -> str:
        """Name the pieces, however many."""
        names = ", ".join(piece.name for piece in self.pieces)
        return shorten(f"<{len(self.pieces)} pieces of '{self.title}': {names}>", MOST_TOLD)


def cutting_plan(scene: Scene, kerf_mm: float = 0.0, flap_mm: float = 10.0) -> CuttingPlan:
    """Return everything to cut for a scene.

    `kerf_mm` is the width that the cutter removes (about 0.1 to 0.3 for a laser, 0 for a knife);
    `flap_mm` the width of the flaps of the walls. Raises ResultError for sizes that make no sense.
    """
    if not 0.0 <= kerf_mm <= 5.0:
        raise ResultError(f"kerf_mm = {kerf_mm:g}: must be from 0 to 5")
    if not 2.0 <= flap_mm <= 50.0:
        raise ResultError(f"flap_mm = {flap_mm:g}: must be from 2 to 50")
    walls, mounts = walls_of(scene, flap_mm), mounts_of(scene)
    border = (wall_across_mm(scene) if len(walls) > 1 else flap_mm) if walls else 0.0
    base = _base(scene, border)
    pieces = [base, *walls]
    for mount in mounts:
        part = scene.train[mount.name]
        if isinstance(part, Sheet):
            pieces += _sheet(scene, mount, part)
        if isinstance(part, LightPlate):
            pieces.append(light_plate(scene, mount.name, part))
        if isinstance(part, FresnelLens) and part.diameter_mm is None:
            pieces.append(_grooved_sheet(scene, mount.name, part))
        if mount.is_plate:
            pieces.append(_plate(scene, mount))
    pieces.append(board_plan(scene, mounts, base.size_mm))
    remarks = tuple(_remarks(scene, mounts))
    return CuttingPlan(scene.title or "untitled", tuple(pieces), kerf_mm, remarks)


def _base(scene: Scene, border: float) -> Piece:
    housing = scene.housing
    inner = rectangle(housing.width_mm, housing.height_mm)
    outer = rectangle(housing.width_mm + 2.0 * border, housing.height_mm + 2.0 * border)
    lines = [Line("mark", inner)] if border else []
    circles: list[Circle] = []
    notes: list[Note] = []
    for name, group in on_board(scene).items():
        lines += _footprints(group)
        if group.shape == "disc":
            circles += [Circle("mark", each, group.size_mm[0]) for each in group.centres_mm()]
        circles += _wire_holes(scene, group)
        low, high = min(group.rows_mm()), max(group.rows_mm())
        above = high + 0.5 * group.size_mm[1] + 4.0
        if above > 0.5 * housing.height_mm - 2.0:
            above = low - 0.5 * group.size_mm[1] - 4.0
        notes.append(Note((group.x_mm, above), f"{name}: {_array_words(group)}"))
    remarks = ["emitters drawn to size with their centres; holes for the wires"] * bool(notes)
    remarks += ["the inner line is the foot of the walls"] * bool(border)
    return Piece(
        "base",
        board_words(scene, "base board"),
        outer,
        lines=tuple(lines),
        circles=tuple(circles),
        notes=tuple(notes),
        remark="; ".join(remarks),
    )


def _footprints(group: Emitter) -> list[Line]:
    """Return the outlines of rectangular emitters, and a cross on the centre of every emitter."""
    lines = []
    width, height = group.size_mm
    arm = 0.3 * min(width, height, 4.0)
    for x, y in group.centres_mm():
        if group.shape == "rectangle":
            lines.append(Line("mark", rectangle(width, height, (x, y))))
        lines.append(Line("mark", ((x - arm, y), (x + arm, y)), closed=False))
        lines.append(Line("mark", ((x, y - arm), (x, y + arm)), closed=False))
    return lines


def _array_words(group: Emitter) -> str:
    width, height = group.size_mm
    size = f"Ø {width:g} mm" if group.shape == "disc" else f"{width:g} × {height:g} mm"
    pitches = [f"{pitch:g} mm along {axis}" for axis, pitch in group.pitches_mm.items()]
    return f"{group.count} of {size}" + (f", every {' and '.join(pitches)}" if pitches else "")


def _wire_holes(scene: Scene, group: Emitter) -> list[Circle]:
    """Return a hole beyond each end of every row, where it is clear of walls and emitters."""
    reach = 0.5 * group.size_mm[0] + WIRE_HOLE_GAP_MM
    columns = group.columns_mm()
    places = [(x, y) for y in group.rows_mm() for x in (columns[0] - reach, columns[-1] + reach)]
    margin = 0.5 * WIRE_HOLE_MM + 1.0
    width, height = scene.housing.width_mm, scene.housing.height_mm
    return [
        Circle("cut", (x, y), WIRE_HOLE_MM)
        for x, y in places
        if abs(x) <= 0.5 * width - margin
        and abs(y) <= 0.5 * height - margin
        and all(_clear_of(x, y, other, margin) for other in on_board(scene).values())
    ]


def _clear_of(x: float, y: float, group: Emitter, margin: float) -> bool:
    """Tell whether a place is farther than a margin from the box around every emitter."""
    width, height = group.size_mm
    return all(
        abs(x - column) > 0.5 * width + margin or abs(y - row) > 0.5 * height + margin
        for column in group.columns_mm()
        for row in group.rows_mm()
    )


def _sheet(scene: Scene, mount: Mount, part: Sheet) -> list[Piece]:
    name, (width, height) = mount.name, mount.size_mm
    material = SHEET_STUFF.get(part.kind, part.words)
    if part.thickness_mm:
        material += f" {part.thickness_mm:g} mm"
    words = _facing(part)
    if part.strips is None:
        piece = Piece(name, material, rectangle(width, height), remark=words)
        return [_with_arrow(piece, part)]
    across = 0 if part.strips.across == "x" else 1
    extent = (width, height)[across]
    spans = part.strips.intervals_mm(-0.5 * extent, 0.5 * extent)
    placed = [_strip(low, high, (width, height), across) for low, high in spans]
    guide = Piece(
        f"{name} placing guide",
        "paper",
        rectangle(width, height),
        lines=(
            *(Line("mark", strip) for strip in placed),
            Line("mark", ((-0.5 * width, 0.0), (0.5 * width, 0.0)), closed=False),
            Line("mark", ((0.0, -0.5 * height), (0.0, 0.5 * height)), closed=False),
        ),
        remark="where the strips lie; the cross is the axis" + (f"; {words}" if words else ""),
    )
    return [*_strips(name, material, part, spans, (width, height), across, words), guide]


def _strips(
    name: str,
    material: str,
    part: Sheet,
    spans: list[tuple[float, float]],
    size: tuple[float, float],
    across: int,
    words: str,
) -> list[Piece]:
    """Return one piece for each width of strip, with its number of copies."""
    widths: dict[float, int] = {}
    for low, high in spans:
        width = round(high - low, 6)
        widths[width] = widths.get(width, 0) + 1
    pieces = []
    for number, (width, copies) in enumerate(widths.items(), 1):
        outline = _strip(-0.5 * width, 0.5 * width, size, across)
        label = f"{name} strip" if len(widths) == 1 else f"{name} strip {number}"
        pieces.append(_with_arrow(Piece(label, material, outline, copies, remark=words), part))
    return pieces


def _strip(
    low: float, high: float, size: tuple[float, float], across: int
) -> tuple[tuple[float, float], ...]:
    centre = 0.5 * (low + high)
    if across == 0:
        return rectangle(high - low, size[1], (centre, 0.0))
    return rectangle(size[0], high - low, (0.0, centre))


def _facing(part: Sheet) -> str:
    if isinstance(part, PrismFilm):
        side = "the screen" if part.ridges == "to_screen" else "the lamp"
        return f"ridges along the arrow, facing {side}"
    return "field that passes along the arrow" if isinstance(part, Polariser) else ""


def _with_arrow(piece: Piece, part: Sheet) -> Piece:
    """Add the arrow that shows the direction of the ridges, or of the field that passes."""
    if isinstance(part, PrismFilm):
        turn, word = math.radians(part.along_deg), "ridges"
    elif isinstance(part, Polariser):
        turn, word = math.radians(part.pass_deg), "pass axis"
    else:
        return piece
    left, low, right, high = piece.bounds_mm
    along = (math.cos(turn), math.sin(turn))
    # As long as fits in the piece with a little room at both ends, and never more than 30 mm.
    half = min(
        15.0,
        *(
            0.4 * extent / abs(cosine)
            for extent, cosine in zip((right - left, high - low), along, strict=True)
            if abs(cosine) > 1e-9
        ),
    )
    x, y = 0.5 * (left + right), 0.5 * (low + high)
    start, end = ((x + s * half * along[0], y + s * half * along[1]) for s in (-1.0, 1.0))
    arrow = Arrow(start, end, word)
    return replace(piece, arrows=(arrow,))


def _grooved_sheet(scene: Scene, name: str, part: FresnelLens) -> Piece:
    """Return a rectangular Fresnel sheet, to be cut from a larger one."""
    width, height = scene.part_size_mm(name)
    arm = 0.1 * min(width, height)
    return Piece(
        name,
        f"{part.words} {part.thickness_mm:g} mm",
        rectangle(width, height),
        lines=(
            Line("mark", ((-arm, 0.0), (arm, 0.0)), closed=False),
            Line("mark", ((0.0, -arm), (0.0, arm)), closed=False),
        ),
        remark="the cross is the middle of the grooves; leave a rim where it is glued to a plate",
    )


def _plate(scene: Scene, mount: Mount) -> Piece:
    """Return the plate that a part sits in."""
    part, (width, height) = scene.train[mount.name], mount.size_mm
    stuff = board_words(scene, "plate")
    plate = Piece(f"{mount.name} plate", stuff, rectangle(width, height))
    if isinstance(part, Panel):
        return _panel_window(replace(plate, name=f"{mount.name} window"), part)
    needed = scene.part_size_mm(mount.name)
    if len(set(part.outline_keys)) > 1:
        remark = "the window is the sheet's clear size; its middle lies on the axis"
        return replace(plate, lines=(Line("cut", rectangle(*needed)),), remark=remark)
    what = "the stop" if mount.name == scene.stop_name else "the lens's clear diameter"
    remark = f"the hole is {what}; its centre lies on the axis"
    if min(width, height) < needed[0] + 2.0:
        remark += "; it leaves next to no border: let the walls hold the lens"
    return replace(plate, circles=(Circle("cut", (0.0, 0.0), needed[0]),), remark=remark)


def _panel_window(plate: Piece, panel: Panel) -> Piece:
    """Return the plate that the panel lies on: a window for the picture, the frame marked."""
    active = rectangle(panel.active_width_mm, panel.active_height_mm)
    frame = rectangle(panel.outer_width_mm, panel.outer_height_mm)
    edge = 0.5 * (panel.active_height_mm + min(panel.outer_height_mm, plate.size_mm[1]))
    return replace(
        plate,
        lines=(Line("cut", active), Line("mark", frame)),
        notes=(Note((0.0, 0.5 * edge), "top"),),
        remark="the window is the picture area; the line around it is the panel's frame",
    )


def _remarks(scene: Scene, mounts: Sequence[Mount]) -> list[str]:
    found = [
        "All drawings are seen from the screen unless a piece says otherwise: x to the right, y up."
    ]
    if scene.housing.walls is None:
        found.append("The scene has open sides: there are no walls to cut.")
    elif scene.housing.stock_mm:
        found.append(
            f"The scene's sizes are those inside, the {scene.housing.stock_mm:g} mm of board are "
            "taken off where pieces meet: the walls stand on the base, those at low and high y "
            "between those at low and high x; plates within the box go between all four; a plate "
            "on the rim shortens the walls by its thickness."
        )
    found += [
        f"{one.name} has no room for a plate beside {one.clash}: hold both in one tube or mount."
        for one in mounts
        if one.clash
    ]
    if any(isinstance(part, PrismFilm) for part in scene.train.values()):
        found.append(
            "Prism film: mind the direction of the ridges; leave the protective foil on until the "
            "last cut, and don't touch the ridges."
        )
    found.append(
        "Cut away from your fingers, on a mat. A laser cutter makes poisonous fumes from PVC and "
        "soot from polycarbonate: know your sheet, and keep to the cutter's instructions."
    )
    return found
