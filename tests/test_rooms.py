"""The picture and the table of the rooms are those of the imports, and the picture can be read."""

from itertools import pairwise

from tests.blocks import written_into
from tests.layered import laid_out, places, without_detours
from tests.rooms import COMMAND, DEVELOPERS, PACKAGE, PICTURE, WAY, arrows, described, drawn

MEND = "out of date: run `python -m tests.rooms`"
# Two squares side by side and a way past both: no arrow need cross another.
PLANAR = {"a": {"b", "c"}, "b": {"d"}, "c": {"d"}, "d": set(), "e": {"a", "d", "f"}, "f": set()}


def test_the_picture_is_that_of_the_imports():
    assert PICTURE.read_text(encoding="utf-8") == drawn(), MEND


def test_the_table_is_that_of_the_rooms():
    text = DEVELOPERS.read_text(encoding="utf-8")
    assert text == written_into(text, "rooms", COMMAND, described()), MEND


def test_the_light_goes_from_room_to_room():
    assert set(WAY) <= {path.name for path in PACKAGE.iterdir()}
    found = arrows()
    # The engine stands between kernel and results: it knows both.
    for one, other in [*pairwise(r for r in WAY if r != "kernel"), ("engine", "kernel")]:
        assert one in found[other] or other in found[one], f"{one} and {other} are strangers"


def test_an_arrow_that_others_make_plain_is_left_out():
    assert without_detours(PLANAR)["e"] == {"a", "f"}


def test_arrows_lead_down_and_cross_where_they_must():
    layout = laid_out(PLANAR)
    height = {node: level for level, layer in enumerate(layout.layers) for node in layer}
    place = {node: k for layer in layout.layers for k, node in enumerate(layer)}
    steps = [step for way in layout.ways for step in pairwise(way)]
    assert all(height[up] == height[down] + 1 for up, down in steps)
    for one in steps:
        for other in steps:
            if height[one[0]] == height[other[0]]:
                across = [place[a] - place[b] for a, b in zip(one, other, strict=True)]
                assert across[0] * across[1] >= 0


def test_boxes_keep_their_distance():
    layout = laid_out(without_detours(arrows()))
    widths = {node: 100.0 for layer in layout.layers for node in layer}
    x = places(layout, widths, 20.0)
    for layer in layout.layers:
        for one, other in pairwise(layer):
            assert x[other] - x[one] >= 120.0 - 1e-9
