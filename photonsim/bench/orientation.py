"""Which way round the panel must sit, and whether the player must flip the picture.

Seen against the light, a picture is turned by half a turn on its way through the objective, and
mirrored once for each of: the panel's front facing the screen (its picture is made to be read from
there, the audience looks the other way), an audience behind the screen, and every flat mirror.
(Derived from the geometry of images; Hecht, Optics, sections 5.2 and 5.4.)
"""

from __future__ import annotations

from collections.abc import Iterator

from photonsim.scene import Scene

# A letter without any symmetry, one row a line.
LETTER = ("#####", "#    ", "###  ", "#    ", "#    ")


def must_flip(front_to_screen: bool, watched_from_rear: bool, mirrors: int) -> bool:
    """Tell whether the player must mirror the picture left to right."""
    return (front_to_screen + watched_from_rear + mirrors) % 2 == 1


def turned(letter: tuple[str, ...], half_turn: bool, flipped: bool) -> tuple[str, ...]:
    """Return a letter after half a turn, after being mirrored left to right, or both."""
    rows = letter[::-1] if half_turn else letter
    return tuple(row[::-1] if half_turn != flipped else row for row in rows)


def orientation_words(scene: Scene) -> Iterator[str]:
    """Yield what to do with panel and player, for a scene with a screen."""
    screen, panel = scene.screen, scene.panel
    if screen is None:
        return
    to_screen = panel.front_faces == "screen"
    flip = must_flip(to_screen, screen.watched_from == "rear", screen.mirrors)
    count = {0: "no mirror", 1: "one mirror"}.get(screen.mirrors, f"{screen.mirrors} mirrors")
    yield (
        f"The panel's front faces the {panel.front_faces}, the audience sits "
        f"{'behind the screen' if screen.watched_from == 'rear' else 'on the projector’s side'}, "
        f"{count} in the path: mount the panel upside down, and the player must "
        f"{'mirror the picture left to right' if flip else 'leave the picture as it is'}."
    )
    if flip and screen.mirrors == 0:
        other = "lamp" if to_screen else "screen"
        yield f"Or turn the panel's front to the {other}: then nothing need be flipped."


def orientation_drawing(scene: Scene) -> str:
    """Return the letter as the audience must see it and as the mounted panel must show it."""
    screen, panel = scene.screen, scene.panel
    if screen is None:
        return ""
    flip = must_flip(panel.front_faces == "screen", screen.watched_from == "rear", screen.mirrors)
    shown = turned(LETTER, half_turn=True, flipped=flip)
    head = "    audience   on the mounted panel, seen from its front"
    rows = (f"    {seen}      {made}" for seen, made in zip(LETTER, shown, strict=True))
    return "\n".join([head, *(row.rstrip() for row in rows)])
