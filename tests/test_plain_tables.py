"""Tables and paragraphs for a terminal: columns in line, headings wrapped, blocks that fit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from photonsim.words.text import LINE, aligned, folded, paragraph, screen_columns, shortened

WORDS = st.text(st.sampled_from("ab ±"), max_size=12).map(str.strip)
TABLES = st.integers(2, 7).flatmap(
    lambda width: st.lists(st.lists(WORDS, min_size=width, max_size=width), min_size=2, max_size=5)
)


def test_a_heading_wider_than_its_column_stands_on_several_lines():
    lines = aligned([["", "near-axis fraction, %"], ["1", "5.4"]], (0,), ruled=True).splitlines()
    assert [line.split() for line in lines] == [
        *(["near-axis"], ["fraction,"], ["%"]),
        *(["-", "---------"], ["1", "5.4"]),
    ]
    assert len({len(line) for line in lines}) == 1, "all end below each other"


@given(TABLES)
def test_no_word_of_a_table_is_lost_and_every_block_fits(rows):
    blocks = folded(rows, (1,), 1, 40)
    for block in blocks:
        assert max(map(len, block.splitlines())) <= 40 or len(rows[0]) == 2
    told = set(" ".join(blocks).split())
    assert {word for row in rows for cell in row for word in cell.split()} <= told


def test_a_paragraph_keeps_numbers_with_their_units_and_paths_whole():
    text = f"{'word ' * 15}1.03 ± 0.01 lm and z = 3 and {'folder/' * 15}file"
    lines = paragraph(text).splitlines()
    assert any("1.03 ± 0.01 lm" in line for line in lines)
    assert any("z = 3" in line for line in lines)
    assert "folder/" * 15 + "file" in lines[-1]
    assert all(len(line) <= LINE for line in lines[:-1])


@pytest.mark.parametrize(("columns", "used"), [("20", LINE), ("120", 120), ("no", LINE)])
def test_columns_are_those_of_the_terminal_and_eighty_at_least(monkeypatch, columns, used):
    monkeypatch.setenv("COLUMNS", columns)
    assert screen_columns() == used


def test_long_names_keep_both_ends():
    name = "A lamp with bars and film in strips, gaps of 6 mm"
    assert shortened("short") == "short"
    assert len(shortened(name, 30)) == 30
    assert shortened(name, 30).startswith("A lamp with")
    assert shortened(name, 30).endswith("of 6 mm")
