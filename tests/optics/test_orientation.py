"""Which way round: the rule against rays followed by hand, and the drawing against the rule."""

import itertools

import pytest

from photonsim.optics.orientation import (
    LETTER,
    MOUNTINGS,
    Mounting,
    laid_out,
    mounting_of,
    orientation_drawing,
    orientation_words,
)
from tests.shipped import scene


def audience_sees(place, front_to_screen, rear, mirrors):
    """Follow a point of the panel, given as (right, up) seen from its front, to the audience.

    x is to the right for someone at the screen who looks at the lamp, as in all of photonsim.
    """
    x, y = place if front_to_screen else (-place[0], place[1])
    x, y = -x, -y  # the objective's image is inverted
    for _ in range(mirrors):
        x = -x
    # Looking at the screen from the projector's side, right is -x; from behind it, right is x.
    return (x, y) if rear else (-x, y)


@pytest.mark.parametrize(
    ("front", "rear", "mirrors"), list(itertools.product((True, False), (True, False), (0, 1, 2)))
)
def test_flip_and_half_turn_make_the_picture_right(front, rear, mirrors):
    mounting = Mounting(front, rear, mirrors)
    assert audience_sees(mounting.shown, front, rear, mirrors) == (1, 1)
    assert mounting.sent == ((-1, 1) if mounting.flip else (1, 1))


def test_drawn_are_all_mountings_that_differ():
    assert len(set(MOUNTINGS)) == 8
    assert {mirrors for *_, mirrors in MOUNTINGS} == {0, 1}


def test_letter_is_laid_out_like_a_point():
    assert laid_out(LETTER, (1, 1)) == LETTER
    assert laid_out(laid_out(LETTER, (-1, -1)), (-1, -1)) == LETTER
    assert laid_out(LETTER, (1, -1))[-1] == "#####"
    assert laid_out(LETTER, (-1, 1))[1] == "    #"


def test_words_and_drawing_of_a_scene():
    words = " ".join(orientation_words(scene("d")))
    assert "mirror the picture left to right" in words
    assert mounting_of(scene("d")) == Mounting(True, False, 0)
    assert orientation_drawing(scene("d")).count("\n") == len(LETTER)
