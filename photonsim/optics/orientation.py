"""Which way round the panel must sit, and whether the player must flip the picture.

Seen against the light, a picture is turned by half a turn on its way through the objective, and
mirrored once for each of: the panel's front facing the screen (its picture is made to be read from
there, the audience looks the other way), an audience behind the screen, and every flat mirror.
(Derived from the geometry of images; Hecht, Optics, sections 5.2 and 5.4.)
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product
from typing import NamedTuple

from photonsim.scene import Scene

# A letter without any symmetry, one row a line.
LETTER = ("#####", "#    ", "###  ", "#    ", "#    ")


class Mounting(NamedTuple):
    """How panel, audience and mirrors are placed, and what follows.

    `sent` and `shown` are signs (right, up) by which a picture is laid out: as the player must send
    it, and as it stands on the mounted panel, seen from the panel's front.
    """

    front_to_screen: bool
    watched_from_rear: bool
    mirrors: int

    @property
    def flip(self) -> bool:
        """Whether the player must mirror the picture left to right."""
        return (self.front_to_screen + self.watched_from_rear + self.mirrors) % 2 == 1

    @property
    def sent(self) -> tuple[int, int]:
        """The picture that the player sends."""
        return (-1 if self.flip else 1, 1)

    @property
    def shown(self) -> tuple[int, int]:
        """The picture on the panel, which is mounted upside down."""
        right, up = self.sent
        return -right, -up


# All that differ: two mirrors do what none does.
MOUNTINGS = tuple(
    Mounting(front, rear, mirrors)
    for rear, mirrors, front in product((False, True), (0, 1), (True, False))
)


def mounting_of(scene: Scene) -> Mounting | None:
    """Return the mounting of a scene; None where it has no screen."""
    screen = scene.screen
    if screen is None:
        return None
    return Mounting(
        scene.panel.front_faces == "screen", screen.watched_from == "rear", screen.mirrors
    )


def laid_out(letter: tuple[str, ...], signs: tuple[int, int]) -> tuple[str, ...]:
    """Return a letter laid out by signs (right, up): -1 mirrors it along that axis."""
    right, up = signs
    return tuple(row[::right] for row in letter[::up])


def orientation_words(scene: Scene) -> Iterator[str]:
    """Yield what to do with panel and player, for a scene with a screen."""
    mounting = mounting_of(scene)
    if mounting is None:
        return
    count = {0: "no mirror", 1: "one mirror"}.get(mounting.mirrors, f"{mounting.mirrors} mirrors")
    yield (
        f"The panel's front faces the {scene.panel.front_faces}, the audience sits "
        f"{'behind the screen' if mounting.watched_from_rear else 'on the projector’s side'}, "
        f"{count} in the path: mount the panel upside down, and the player must "
        f"{'mirror the picture left to right' if mounting.flip else 'leave the picture as it is'}."
    )
    if mounting.flip and mounting.mirrors == 0:
        other = "lamp" if mounting.front_to_screen else "screen"
        yield f"Or turn the panel's front to the {other}: then nothing need be flipped."


def orientation_drawing(scene: Scene) -> str:
    """Return the letter as the audience must see it and as the mounted panel must show it."""
    mounting = mounting_of(scene)
    if mounting is None:
        return ""
    shown = laid_out(LETTER, mounting.shown)
    head = "    audience   on the mounted panel, seen from its front"
    rows = (f"    {seen}      {made}" for seen, made in zip(LETTER, shown, strict=True))
    return "\n".join([head, *(row.rstrip() for row in rows)])
