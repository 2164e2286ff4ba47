"""The board on which all stands, seen from above: the axis, and every part's place and foot."""

from __future__ import annotations

from collections.abc import Sequence

from photonsim.scene import Scene, Supply, Unfinished
from photonsim.workshop.mounts import Mount, wall_across_mm, wall_reach_mm
from photonsim.workshop.pieces import Line, Note, Piece, Point, rectangle

# Room for a screw beside the widest foot, and to lift the lamp behind its base and at its front.
MARGIN_MM = 15.0
ENDS_MM = 20.0
# Behind a heat sink air must rise.
AIR_MM = 10.0
# From one dimension line to the next, and from the axis to the first.
ROW_MM = 5.0
LETTER_MM = 1.35
# A ribbon cable passes a slot so much wider than itself, and so deep.
SLOT_MORE_MM, SLOT_MM = 4.0, 6.0


def board_plan(scene: Scene, mounts: Sequence[Mount], base_mm: Point) -> Piece:
    """Return the plan of the board, z to the right and x up, from where the base meets the axis.

    `base_mm` is the size of the board with the emitters. Feet are as wide and thick as what stands
    there; dimension lines run from the base's front to each part.
    """
    stock = scene.housing.stock_mm
    standing = {one.name: one for one in mounts if not one.in_box}
    box = _box(scene, mounts)
    widths = [base_mm[0], *(one.size_mm[0] for one in standing.values())]
    half = max([0.5 * max(widths), *(abs(x) for _, x in box)]) + MARGIN_MM
    left = -stock - ENDS_MM - sum(depth + AIR_MM for _, depth, _ in _behind(scene))
    right = max([scene.housing.depth_mm, *(one.high_mm for one in mounts)]) + ENDS_MM
    sizes, notes = _sizes(mounts, half, _slot_mm(scene))
    lines = [
        Line("axis", ((left, 0.0), (right, 0.0)), closed=False),
        Line("mark", rectangle(stock, base_mm[0], (-0.5 * stock, 0.0))),
    ]
    if box:
        lines.append(Line("mark", box))
        notes.append(Note((0.5 * (box[0][0] + box[1][0]), 0.25 * half), "walls"))
    lines += [
        Line("mark", rectangle(one.high_mm - one.low_mm, one.size_mm[0], (one.middle_mm, 0.0)))
        for one in standing.values()
    ]
    room, room_notes = _room(scene)
    notes += [
        *room_notes,
        Note((-0.5 * stock, 0.5 * base_mm[0] + 3.0), "base"),
        Note((right - 12.0, 3.0), "axis, to the screen"),
    ]
    return Piece(
        "board plan",
        "floor board",
        rectangle(right - left, 2.0 * half, (0.5 * (left + right), 0.0)),
        lines=(*lines, *sizes, *room),
        notes=tuple(notes),
        remark="seen from above, x up, the lamp at the left, lengths in mm from the base's front; "
        + _heights(scene, standing, base_mm),
    )


def _box(scene: Scene, mounts: Sequence[Mount]) -> tuple[Point, ...]:
    """Return the outline of the walls from above, outside; nothing for open sides."""
    reach = wall_reach_mm(scene, mounts)
    if reach is None:
        return ()
    low, high = (0.5 * scene.housing.opening_mm(z)[0] + wall_across_mm(scene) for z in reach)
    return (reach[0], -low), (reach[1], -high), (reach[1], high), (reach[0], low)


def _sizes(mounts: Sequence[Mount], half: float, slot_mm: float) -> tuple[list[Line], list[Note]]:
    """Return a line across the board at each part, and its distance from the base's front.

    Rows of dimension lines lie below the axis and below a slot about it.
    """
    pitch = min(ROW_MM, (half - 0.5 * slot_mm - ROW_MM) / (len(mounts) + 1))
    lines, notes = [], []
    for row, one in enumerate(mounts, 1):
        x = -0.5 * slot_mm - pitch * row
        lines += [
            Line("mark", ((one.z_mm, -half), (one.z_mm, half)), closed=False),
            Line("size", ((0.0, x), (one.z_mm, x)), closed=False),
            *(Line("mark", ((z, x - 1.2), (z, x + 1.2)), closed=False) for z in (0.0, one.z_mm)),
        ]
        # Before the part, as far as there is room.
        reach = 0.5 * LETTER_MM * len(one.label) + 2.0
        notes.append(Note((max(one.z_mm - reach, reach), x), one.label))
    return lines, notes


def _slot_mm(scene: Scene) -> float:
    """Return how wide a slot the panel's cable needs, 0 without one."""
    cable = scene.panel.cable_width_mm
    return 0.0 if cable is None else cable + SLOT_MORE_MM


def _behind(scene: Scene) -> list[tuple[str, float, float]]:
    """Return what the scene has behind the base, from there on: (name, depth, width) in mm."""
    supply = scene.supply
    if not isinstance(supply, Supply):
        return []
    sink = supply.heat_sink
    things = (
        ("heat sink", sink.fin_depth_mm, sink.width_mm),
        ("switch", supply.switch_depth_mm, supply.switch_width_mm),
    )
    return [(name, depth, width) for name, depth, width in things if depth and width]


def _room(scene: Scene) -> tuple[list[Line], list[Note]]:
    """Return a slot for the panel's cable, and room for what stands behind the base."""
    lines, notes = [], []
    if wide := _slot_mm(scene):
        z = scene.panel.end_mm + 0.5 * SLOT_MM
        lines.append(Line("cut", rectangle(SLOT_MM, wide, (z, 0.0))))
        notes.append(Note((z + 0.5 * SLOT_MM + 2.0, 0.5 * wide + 10.0), "panel's cable", 90.0))
    end = -scene.housing.stock_mm
    for name, depth, width in _behind(scene):
        lines.append(Line("mark", rectangle(depth, width, (end - 0.5 * depth, 0.0))))
        notes.append(Note((end - 0.5 * depth, 10.0), name, 90.0))
        end -= depth + AIR_MM
    return lines, notes


def _heights(scene: Scene, standing: dict[str, Mount], base_mm: Point) -> str:
    """Return how high the axis lies, and by how much what is lower must be packed up."""
    heights = {"base": base_mm[1]} | {name: one.size_mm[1] for name, one in standing.items()}
    if (reach := scene.housing.wall_range_mm) is not None:
        outside = max(scene.housing.opening_mm(z)[1] for z in reach) + 2.0 * wall_across_mm(scene)
        heights["walls"] = outside
    axis = 0.5 * max(heights.values())
    low = {name: axis - 0.5 * height for name, height in heights.items()}
    packed = [f"{name} {gap:.1f}" for name, gap in low.items() if gap > 0.05]
    words = f"; pack up, in mm: {', '.join(packed)}" if packed else ""
    if scene.panel.cable_width_mm is not None and scene.panel_name not in standing:
        words += "; the panel's cable passes the wall at low y as well"
    if isinstance(scene.supply, Unfinished):
        words += "; the supply table has mistakes, so nothing is drawn behind the base"
    return f"the axis lies {axis:.1f} mm above the board{words}"
