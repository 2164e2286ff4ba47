"""The drawing of a light plate: its outline, the emitters beside its edges, what its back has."""

from __future__ import annotations

from photonsim.scene import Emitter, LightPlate, Scene
from photonsim.scene.stands import stands_of
from photonsim.workshop.pieces import Line, Note, Piece, rectangle

# How far beyond the edge emitters are drawn.
BESIDE_MM = 1.5


def light_plate(scene: Scene, name: str, part: LightPlate) -> Piece:
    """Return a light plate with its lit edges marked and its emitters beside them, to size."""
    width, height = scene.part_size_mm(name)
    lines, notes = [], []
    for group_name, stand in stands_of(scene).items():
        group = scene.emitters[group_name]
        if group.edge is None:
            continue
        out = float(f"{group.edge[0]}{BESIDE_MM}")
        off = (out, 0.0) if group.edge[1] == "x" else (0.0, out)
        across, up = (extent or BESIDE_MM for extent in stand.size_mm[:2])
        lines += [
            Line("mark", rectangle(across, up, (x + off[0], y + off[1])))
            for x in stand.columns_mm
            for y in stand.rows_mm
        ]
        # Within the plate, before the middle of the edge.
        left, low = stand.columns_mm[0] - 8.0 * out, stand.rows_mm[0] - 4.0 * out
        place = (left, 0.0) if group.edge[1] == "x" else (0.0, low)
        notes.append(Note(place, _words(group_name, group)))
    stuff = (part.material or f"clear sheet, n = {part.index:g},").replace("_", " ")
    return Piece(
        name,
        f"{stuff} {part.thickness_mm:g} mm",
        rectangle(width, height),
        lines=tuple(lines),
        notes=tuple(notes),
        remark="; ".join(_remarks(part)),
    )


def _words(name: str, group: Emitter) -> str:
    pitch = f", every {group.pitch_mm:g} mm" if group.columns > 1 else ""
    how = "in contact" if group.coupling == "contact" else "close to it"
    return f"{name}: {group.count} at edge {group.edge}, {how}{pitch}"


def _remarks(part: LightPlate) -> list[str]:
    found = [f"on the back {part.dots_in_words}"]
    if part.reflector is not None:
        found.append("a white sheet laid behind it, not glued")
    if part.edges == "mirrored":
        found.append("mirror foil laid at the edges that are not lit, not glued")
    if part.edges == "white":
        found.append("the edges that are not lit painted white")
    return [*found, "saw, then polish the lit edges clear: a rough edge scatters light out"]
