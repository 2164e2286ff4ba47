"""The picture at the head of README.md: a shipped lamp from the side, to scale, its parts named.

    python -m tests.lamp_picture

draws scenes/pictures/lamp.svg from the numbers of a scene, to scale up to the two slanted lines;
tests/documents/test_tables.py fails when it is out of date. What light it shows is the first-order
way: straight ahead through a gap, or bent straight ahead by the film, then through the middle of
the stop.
"""

from __future__ import annotations

import math
from pathlib import Path

import photonsim
from photonsim.scene import IdealLens, Panel, PrismFilm, RealLens, Scene

ROOT = Path(__file__).parents[1]
SCENE = ROOT / "scenes" / "d_split_film.toml"
PICTURE = ROOT / "scenes" / "pictures" / "lamp.svg"

SCALE, LEFT, MIDDLE, WIDTH, HEIGHT = 2.9, 60.0, 268.0, 960.0, 536.0
BREAK, SCREEN = 838.0, 908.0
INK, GREY, LIGHT, LOST, GLASS, FILM = (
    "#1d2733",
    "#8493a3",
    "#b25a00",
    "#d9a25f",
    "#cfe3f2",
    "#0b6fa4",
)


def across(z: float) -> float:
    """Return where a height above the base lies in the picture."""
    return LEFT + SCALE * z


def down(y: float) -> float:
    """Return where a height above the axis lies in the picture."""
    return MIDDLE - SCALE * y


def drawn(scene: Scene) -> str:
    """Return the picture of a lamp with a split film and an objective about its stop, as SVG."""
    return "\n".join((*_head(), *_light(scene), *_parts(scene), *_labels(scene), "</svg>", ""))


def straightened_deg(film: PrismFilm) -> float:
    """Return the angle from which ridges of 90° send light straight ahead: Snell's law twice."""
    assert film.index is not None and film.apex_deg == 90.0
    inside = math.radians(45.0) - math.asin(math.sin(math.radians(45.0)) / film.index)
    return math.degrees(math.asin(film.index * math.sin(inside)))


def ways(scene: Scene) -> list[list[tuple[float, float]]]:
    """Return the ways of light (z, y) that end at the middle of the stop, from every row."""
    (emitter,) = scene.emitters.values()
    film, panel, lens = (scene.train[name] for name in ("film", "panel", "field_lens"))
    assert isinstance(film, PrismFilm) and isinstance(panel, Panel) and isinstance(lens, IdealLens)
    start, stop = emitter.z_mm, scene.train["stop"].z_mm
    sideways = (film.z_mm - start) * math.tan(math.radians(straightened_deg(film)))
    found = []
    for row in rows(scene):
        outwards = math.copysign(sideways, row)
        for y in (row, row + outwards):
            if y == row or (abs(y) < panel.active_height_mm / 2.0 and row):
                found.append([(start, row), (film.z_mm, y), (lens.z_mm, y), (stop, 0.0)])
    return found


def rows(scene: Scene) -> list[float]:
    """Return the heights above the axis of the rows of emitters."""
    (emitter,) = scene.emitters.values()
    assert emitter.pitch_y_mm is not None
    return [
        emitter.y_mm + emitter.pitch_y_mm * (row - (emitter.rows - 1) / 2.0)
        for row in range(emitter.rows)
    ]


def _head() -> tuple[str, ...]:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH:.0f} {HEIGHT:.0f}" '
        f'width="{WIDTH:.0f}" height="{HEIGHT:.0f}" font-family="sans-serif" font-size="15">',
        "<title>A projector lamp from the side: base, bars, film, panel, field lens, objective "
        "with its stop, screen</title>",
        '<defs><marker id="tip" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="7" '
        f'markerHeight="7" orient="auto"><path d="M0 0 L8 4 L0 8 z" fill="{INK}"/></marker></defs>',
        '<rect width="100%" height="100%" fill="#ffffff"/>',
        f'<line x1="{across(0):.1f}" y1="{MIDDLE}" x2="{SCREEN}" y2="{MIDDLE}" stroke="{GREY}" '
        'stroke-width="1" stroke-dasharray="10 4 2 4"/>',
    )


def _light(scene: Scene) -> list[str]:
    """Return the light that makes the picture, and some that does not."""
    lines = []
    for way in ways(scene):
        (z, y), (stop, _) = way[-2:]
        slope = -y / (stop - z)
        # Through the middle of the lenses about the stop light goes straight on.
        points = [(across(z), down(y)) for z, y in way]
        points.append((SCREEN, down(slope * (SCREEN - across(stop)) / SCALE)))
        lines.append(_path(points, LIGHT, 1.6))
    housing, film = scene.housing, scene.train["film"]
    (emitter,) = scene.emitters.values()
    for angle in (50.0, -62.0):
        slope = math.tan(math.radians(angle))
        reach = (math.copysign(housing.height_mm / 2.0, slope) - rows(scene)[-1]) / slope
        end = min(reach, film.z_mm - emitter.z_mm)
        at = (emitter.z_mm + end, rows(scene)[-1] + slope * end)
        start = (across(emitter.z_mm), down(rows(scene)[-1]))
        lines.append(_path([start, (across(at[0]), down(at[1]))], LOST, 1.4, "4 4"))
    return lines


def _parts(scene: Scene) -> list[str]:
    housing = scene.housing
    half = housing.height_mm / 2.0
    wall = [(0.0, -half), (housing.depth_mm, -half)], [(0.0, half), (housing.depth_mm, half)]
    lines = [_path([(across(z), down(y)) for z, y in side], INK, 3.0) for side in wall]
    lines.append(_upright(0.0, -half, half, INK, 6.0))
    (emitter,) = scene.emitters.values()
    assert emitter.height_mm is not None
    for row in rows(scene):
        reach = emitter.height_mm / 2.0
        lines.append(_upright(emitter.z_mm, row - reach, row + reach, LIGHT, 5.0))
    film = scene.train["film"]
    assert isinstance(film, PrismFilm) and film.strips is not None
    for low, high in film.strips.intervals_mm(-half, half):
        lines.append(_upright(film.z_mm, low, high, FILM, 3.5))
    panel, lens, stop = (scene.train[name] for name in ("panel", "field_lens", "stop"))
    assert isinstance(panel, Panel) and isinstance(lens, IdealLens)
    frame, picture = panel.outer_height_mm / 2.0, panel.active_height_mm / 2.0
    lines.append(_upright(panel.z_mm, -frame, frame, INK, 5.0))
    lines.append(_upright(panel.z_mm, -picture, picture, "#3f9142", 5.0))
    rim = lens.diameter_mm / 2.0
    lines.append(_upright(lens.z_mm, -rim, rim, "#6aa5cf", 5.0))
    lines += [_lens(part) for part in scene.train.values() if isinstance(part, RealLens)]
    hole = stop.diameter_mm / 2.0
    for side in (-1.0, 1.0):
        lines.append(_upright(stop.z_mm, side * hole, side * (hole + 16.0), INK, 4.0))
    for shift in (0.0, 7.0):
        lines.append(
            f'<path d="M{BREAK + shift - 4} {MIDDLE + 60} L{BREAK + shift + 4} {MIDDLE - 60}" '
            f'stroke="{GREY}" stroke-width="1.5"/>'
        )
    lines.append(
        f'<line x1="{SCREEN}" y1="{MIDDLE - 200}" x2="{SCREEN}" y2="{MIDDLE + 200}" '
        f'stroke="{INK}" stroke-width="3"/>'
    )
    return lines


def _lens(part: RealLens) -> str:
    """Return a lens with two faces, spherical or flat."""
    half = part.diameter_mm / 2.0
    faces = []
    for z, radius in (
        (part.z_mm, part.radius_lamp_mm),
        (part.z_mm + part.thickness_mm, part.radius_screen_mm),
    ):
        heights = [half * k / 8.0 for k in range(-8, 9)]
        sags = [radius - math.copysign(math.sqrt(radius**2 - y**2), radius) if radius else 0.0
                for y in heights]  # fmt: skip
        faces.append([(across(z + sag), down(y)) for sag, y in zip(sags, heights, strict=True)])
    outline = [*faces[0], *reversed(faces[1])]
    return _path([*outline, outline[0]], "#6aa5cf", 1.5, fill=GLASS)


def _labels(scene: Scene) -> list[str]:
    """Return the names of the parts, each with a line to its part, and the three directions."""
    train, half = scene.train, scene.housing.height_mm / 2.0
    rim = train["field_lens"].diameter_mm / 2.0
    panel = train["panel"].outer_height_mm / 2.0
    stop = train["stop"]
    hole = stop.diameter_mm / 2.0
    front, rear = train["front_lens"], train["rear_lens"]
    named = (
        ("base", 0.0, half, 18.0, 96.0),
        ("film", train["film"].z_mm, 30.0, 76.0, 66.0),
        ("panel", train["panel"].z_mm, panel, 128.0, 36.0),
        ("field lens", train["field_lens"].z_mm, rim, 262.0, 56.0),
        ("LED bars", 1.6, -18.0, 14.0, 452.0),
        ("wall", 24.0, -half, 122.0, 478.0),
        ("stop", stop.z_mm, hole + 16.0, across(stop.z_mm) - 16.0, 126.0),
    )
    lines = []
    for words, z, y, x, top in named:
        lines += _label(words, across(z), down(y), x, top)
    lines.append(_text("two lenses with the stop between:", 598.0, 404.0))
    lines.append(_text("the objective", 598.0, 424.0))
    for part in (rear, front):
        lines.append(
            _leader(across(part.z_mm + 3.0), down(-part.diameter_mm / 2.0), across(stop.z_mm), 388)
        )
    lines.append(_text("screen", SCREEN - 24.0, MIDDLE - 212.0))
    assert scene.screen is not None and scene.screen.distance_mm is not None
    away = f"{scene.screen.distance_mm / 1000.0:.1f} m away"
    lines.append(_text(away, SCREEN - 44.0, MIDDLE + 222.0, GREY))
    lines.append(_text("light that makes the picture", 330.0, 176.0, LIGHT))
    lines.append(_text("(most is lost in the box)", 330.0, 196.0, LIGHT))
    corner, top = 330.0, 506.0
    for words, x, y, at in (
        ("z, to the screen", corner + 60.0, top, (corner + 66.0, top + 5.0)),
        ("y, up", corner, top - 46.0, (corner + 8.0, top - 40.0)),
    ):
        lines.append(
            f'<line x1="{corner}" y1="{top}" x2="{x}" y2="{y}" stroke="{INK}" stroke-width="2" '
            'marker-end="url(#tip)"/>'
        )
        lines.append(_text(words, *at))
    lines.append(
        f'<circle cx="{corner}" cy="{top}" r="7" fill="#ffffff" stroke="{INK}" stroke-width="2"/>'
        f'<path d="M{corner - 5} {top - 5} l10 10 m0 -10 l-10 10" stroke="{INK}" '
        'stroke-width="1.6"/>'
    )
    lines.append(_text("x, away from you", corner - 134.0, top + 5.0))
    return lines


def _label(words: str, to_x: float, to_y: float, x: float, y: float) -> list[str]:
    above = y < to_y
    middle = x + 4.0 * len(words)
    return [_text(words, x, y), _leader(to_x, to_y, middle, y + (6.0 if above else -14.0))]


def _leader(x: float, y: float, from_x: float, from_y: float) -> str:
    return _path([(from_x, from_y), (x, y)], GREY, 1.0)


def _text(words: str, x: float, y: float, colour: str = INK) -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" fill="{colour}">{words}</text>'


def _upright(z: float, low: float, high: float, colour: str, width: float) -> str:
    return _path([(across(z), down(low)), (across(z), down(high))], colour, width)


def _path(
    points: list[tuple[float, float]],
    colour: str,
    width: float,
    dashes: str = "none",
    fill: str = "none",
) -> str:
    steps = " L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    return (
        f'<path d="M{steps}" fill="{fill}" stroke="{colour}" stroke-width="{width}" '
        f'stroke-dasharray="{dashes}"/>'
    )


if __name__ == "__main__":
    text = drawn(photonsim.load_scene(SCENE))
    PICTURE.write_text(text, encoding="utf-8", newline="\n")
