"""Words of a scene stay words: in HTML, Markdown, CSV, SVG and on the terminal.

What must not happen is taken from the formats themselves: CommonMark 0.31 (links, images, raw
HTML), GitHub's tables, OWASP's list of what spreadsheets take for a formula, ECMA-48 (control
characters).
"""

import csv
import io
import re
import tomllib
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.scene import SceneError, parse_scene
from photonsim.words.escaping import csv_text, markdown, markdown_line, visible
from tests.shipped import SCENES, scene

EVIL = "<script>alert(1)</script> [x](javascript:a) ![](http://b/c.png) | `d` *e* www.f.gg"


def titled(title, stem="a"):
    """Return the text of a scene with a title."""
    lines = scene(stem).text.split("\n")
    text = "\n".join(line for line in lines if not line.startswith("title"))
    literal = '"' + "".join(
        c if c.isprintable() and c not in '"\\' else f"\\u{ord(c):04x}" for c in title
    ) + '"'  # fmt: skip
    assert tomllib.loads(f"t = {literal}")["t"] == title
    return f"title = {literal}\n{text}"


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """What `compare`, `report` and `figures` write of two scenes with titles that mean harm."""
    found: Path = tmp_path_factory.mktemp("words")
    (found / "one.toml").write_text(titled(EVIL), "utf-8")
    (found / "two.toml").write_text(titled("=cmd|' /C calc'!A0", "b"), "utf-8")
    scenes = [str(found / "one.toml"), str(found / "two.toml")]
    for verb in ("compare", "report"):
        asked = [verb, *scenes, "--photons", "2000", "--out", str(found)]
        done = CliRunner().invoke(main, asked)
        assert done.exit_code == 0, done.output
    drawn = [str(found / "one.h5"), str(found / "two.h5"), "--format", "svg", "--out", str(found)]
    done = CliRunner().invoke(main, ["figures", *drawn])
    assert done.exit_code == 0, done.output
    return found


def unescaped(text, sign):
    """Return where a sign stands without a backslash before it, outside of code."""
    bare = re.sub(r"(?ms)^(```+)$.*?^\1$", "", text)
    return [bare[m.start() - 20 : m.end() + 20] for m in re.finditer(rf"(?<!\\){sign}", bare)]


@pytest.mark.parametrize("name", ["comparison.md", "report.md"])
def test_markdown_holds_no_link_picture_or_html_of_a_scene(folder, name):
    text = (folder / name).read_text("utf-8")
    assert "alert" in text
    assert not unescaped(text, "<")
    prose = re.sub(r"(?ms)^(```+)$.*?^\1$", "", text)  # within a fence nothing is markup
    links = re.findall(r"(?<!\\)\]\(([^)]*)\)", prose)
    assert all(re.fullmatch(r"report-figures/[\w-]+\.(png|svg)", link) for link in links), links
    assert "http:" not in prose and "www." not in prose
    for table in re.findall(r"(?m)(?:^\|.*\n)+", text):
        edges = {len(re.findall(r"(?<!\\)\|", line)) for line in table.splitlines()}
        assert len(edges) == 1, table


def test_no_cell_of_a_table_begins_like_a_formula(folder):
    rows = list(csv.reader(io.StringIO((folder / "comparison.csv").read_text("utf-8"))))
    cells = [cell for row in rows for cell in row if cell[:1] in "=+-@\t\r" and cell]
    assert all(re.fullmatch(r"[-+]?[\d.]+(e[-+]\d+)?", cell) for cell in cells), cells
    assert any("cmd" in cell for row in rows for cell in row)


def test_the_page_has_no_elements_of_a_scene(folder):
    page = (folder / "report.html").read_text("utf-8")
    assert "alert" in page
    assert "<script" not in page
    assert not re.findall(r'(?:href|src)="(?!#|data:image/)[^"]*', page)


def test_drawings_are_sound_xml_without_scripts(folder):
    drawn = list(folder.rglob("*.svg"))
    assert drawn
    for path in drawn:
        for element in ET.parse(path).iter():
            assert element.tag.rpartition("}")[2] not in ("script", "foreignObject", "a"), path
            links = [value for name, value in element.items() if name.endswith("href")]
            assert all(link.startswith(("#", "data:image/")) for link in links), path


@pytest.mark.parametrize("control", ["\0", "\x1b[2J", "\n", "\x9b", "\u202e", "\u2028"])
def test_a_title_with_a_control_character_is_told_by_check(tmp_path, control):
    (tmp_path / "lamp.toml").write_text(titled(f"lamp{control}"), "utf-8")
    done = CliRunner().invoke(main, ["check", str(tmp_path / "lamp.toml")])
    assert done.exit_code == 2
    assert f"holds the control character U+{ord(control[0]):04X}" in done.output
    assert control[0] == "\n" or control[0] not in done.output


def test_notes_may_have_several_lines_and_no_other_control_characters():
    body = SCENES[0].read_text("utf-8")
    text = "\n".join(line for line in body.split("\n") if not line.startswith("notes"))
    assert parse_scene('notes = "one\\n\\ttwo"\n' + text).notes == "one\n\ttwo"
    with pytest.raises(SceneError, match=r"U\+0007"):
        parse_scene('notes = "a bell \\u0007"\n' + text)


def test_control_characters_in_the_name_of_a_file_do_not_reach_the_terminal(tmp_path):
    path = tmp_path / "lamp\x1b]0;owned\x07.toml"
    path.write_text("nonsense", "utf-8")
    for verb in ("check", "trace", "compare"):
        done = CliRunner().invoke(main, [verb, str(path)])
        assert done.exit_code == 2
        assert "\x1b" not in done.output and "\\x1b" in done.output
    done = CliRunner().invoke(main, ["figures", str(tmp_path / "no\x1b[2J.h5")])
    assert "\x1b" not in done.output


def test_words_are_changed_only_as_far_as_need_be():
    assert markdown("Bars and film, 45.5 ± 0.2 % (new)") == "Bars and film, 45.5 ± 0.2 % (new)"
    assert markdown_line("- no list") == "&#45; no list"
    assert markdown_line("1. no list") == "&#49;. no list"
    assert markdown("a|b") == r"a\|b"
    assert visible("a\x1b[0m\nb") == "a\\x1b[0m\nb"
    assert csv_text([[-1.5, "-1.5", "-x", "plain", " =1"]]) == "-1.5,-1.5,'-x,plain,' =1\n"
