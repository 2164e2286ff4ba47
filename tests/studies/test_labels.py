"""What designs of one table are called: what differs stays whole, and no two are called alike."""

import itertools

import pytest

import photonsim
from photonsim.studies.comparing.tables import as_markdown, as_text
from photonsim.words.labels import labels_of, shared_title
from tests.shipped import scene


@pytest.mark.parametrize(
    ("titles", "shared", "labels"),
    [
        (["Bars", "Bars, near", "Bars, far"], "Bars", ["as it stands", "near", "far"]),
        (["Bars, film, near", "Bars, film, far"], "Bars, film", ["near", "far"]),
        (["Bars, near", "Bars, near, z 3"], "Bars, near", ["as it stands", "z 3"]),
        # Words that begin alike are no shared title, nor is that of one design.
        (["Bars", "Bars and film"], "", ["Bars", "Bars and film"]),
        (["Bars, near"], "", ["Bars, near"]),
        (["Bars, near", "Lamp, near"], "", ["Bars, near", "Lamp, near"]),
        # Of equal titles nothing is left that tells them apart.
        (["Bars, near", "Bars, near"], "", ["Bars, near", "Bars, near (2)"]),
        (["Bars", "Bars", "Bars, x"], "Bars", ["as it stands", "as it stands (2)", "x"]),
        ([], "", []),
    ],
)
def test_designs_that_share_a_title_are_called_by_what_differs(titles, shared, labels):
    assert shared_title(titles) == shared
    assert labels_of(titles) == labels


def test_equal_titles_are_told_apart_by_their_files():
    titles, stems = ["Bars"] * 4, ["a", "b", "b", "b"]
    assert labels_of(titles, stems) == ["Bars", "Bars (b)", "Bars (b, 3)", "Bars (b, 4)"]


def test_no_two_designs_are_called_alike():
    """All tables of four designs out of titles that are made to be confused."""
    some = ("", "A", "A, b", "A (2)", "A, as it stands", "A, as it stands (2)")
    for titles in itertools.product(some, repeat=4):
        assert len(set(labels_of(titles))) == 4, titles


def test_the_shared_title_stands_above_the_table():
    lamp = scene("d")
    lamps = [lamp, lamp.with_numbers({"train.film.z_mm": 16.0, "title": f"{lamp.title}, far"})]
    table = photonsim.compare(lamps, photons=1024)
    assert sorted(design.label for design in table.designs) == ["as it stands", "far"]
    assert as_text(table).startswith(f"{lamp.title}:\n")
    assert as_markdown(table).startswith(f"{lamp.title}:\n")
    assert "far" in repr(table) and "'as it stands'" in repr(table)
