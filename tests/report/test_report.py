"""The write-up: whole without a network, readable without pictures, safe with anyone's words."""

import base64
import re
from html.parser import HTMLParser
from xml.etree import ElementTree

import numpy as np
import pytest

from photonsim.engine import sample_paths, trace
from photonsim.report import WriteUp, compose, save_write_up
from photonsim.report.sections import job, side_by_side
from photonsim.results import ResultError
from photonsim.results.files.study_table import Column, StudyTable
from photonsim.scene import parse_scene
from photonsim.studies import Design, compare
from tests.shipped import scene as shipped

HOSTILE = 'Lamp <script>alert("x")</script> & | `co` *b*'
# HTML elements without content and end tag (HTML Living Standard, 13.1.2, void elements).
VOID = {"meta", "img", "br", "hr", "link", "input"}


class Page(HTMLParser):
    """Collects what a page needs and checks that its tags close in order."""

    def __init__(self):
        super().__init__()
        self.open, self.images, self.links, self.ids, self.tags = [], [], [], [], []
        self.text = ""

    def handle_starttag(self, tag, attrs):
        attributes = dict(attrs)
        self.tags.append(tag)
        self.links += [value for key, value in attrs if key in ("href", "src")]
        self.ids += [attributes["id"]] if "id" in attributes else []
        if tag == "img":
            self.images.append(attributes)
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    scene = shipped("d_")
    text = re.sub(r"(?m)^title = .*", f"title = '{HOSTILE}'", scene.text, count=1)
    hostile = parse_scene(text)
    traced = trace(hostile, photons=10_000)
    # A share of it as if given up instead of absorbed, which must be told.
    fates = traced.tallies.batches["fates"]
    guard = [group for _, group in traced.fate_names].index("guard")
    absorbed = [name for name, _ in traced.fate_names].index("absorbed by walls")
    moved = fates[:, absorbed] // 10
    fates[:, guard] += moved
    fates[:, absorbed] -= moved
    results = [(HOSTILE, traced, sample_paths(hostile, 10))]
    table = StudyTable(
        "sweep",
        "Film up and down",
        scene.text,
        (
            Column("train.film.z_mm", "film, z", "mm", "parameter", np.array([8.0, 10.0, 12.0])),
            Column("collected_lm", "collected", "lm", "figure", np.array([0.9, 1.0, 1.1]),
                   np.array([0.01, 0.01, 0.01])),
        ),
    )  # fmt: skip
    folder = tmp_path_factory.mktemp("report")
    files = save_write_up(compose(results, [table], "Of lamps & films"), folder)
    return folder, files


def test_page_needs_nothing_else(written):
    source = written[1][0].read_text(encoding="utf-8")
    page = Page()
    page.feed(source)
    assert page.open == []
    assert all(link.startswith(("#", "data:image/")) for link in page.links)
    assert "script" not in page.tags and "@import" not in source and "url(" not in source
    assert {link[1:] for link in page.links if link.startswith("#")} <= set(page.ids)
    assert len(page.ids) == len(set(page.ids))


def test_every_picture_says_what_it_shows(written):
    page = Page()
    page.feed(written[1][0].read_text(encoding="utf-8"))
    assert len(page.images) >= 9
    for image in page.images:
        assert len(image["alt"]) > 30
        kind, content = image["src"].removeprefix("data:image/").split(";base64,")
        raw = base64.b64decode(content, validate=True)
        if kind == "svg+xml":
            ElementTree.fromstring(raw)
        else:
            assert raw.startswith(b"\x89PNG\r\n\x1a\n")


def test_all_that_a_maker_publishes_is_there(written):
    page = Page()
    page.feed(written[1][0].read_text(encoding="utf-8"))
    for wanted in (
        "The job", "Supply and heat", "What to cut", "Before you switch it on",
        "Assumptions and errors", "How to reproduce it", "Film up and down", "Of lamps & films",
        HOSTILE, "±", "IEC 62471", "[housing]", "WARNING", "of the light was given up",
    ):  # fmt: skip
        assert wanted in page.text, wanted


def test_markdown_names_files_that_are_there(written):
    folder, files = written
    text = files[1].read_text(encoding="utf-8")
    pictures = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", text)
    assert len(pictures) >= 9
    assert all((folder / name).is_file() for name in pictures)
    outside = re.sub(r"(?s)```.*?```", "", text)
    assert "<script>" not in re.sub(r"\\<", "", outside)
    # Cells of one table have the same number of bars, whatever stands in them.
    for table in re.findall(r"(?m)(?:^\|.*\n)+", outside):
        bars = {len(re.findall(r"(?<!\\)\|", line)) for line in table.splitlines()}
        assert len(bars) == 1


def test_designs_stand_side_by_side_and_the_best_is_named():
    lamps = [shipped("a_"), shipped("f_")]
    named = [(lamp.title, trace(lamp, photons=10_000)) for lamp in lamps]
    section = side_by_side(compare([Design(*item) for item in named]))
    ranking, picture, ledger, notes = section.blocks
    assert [row[1] for row in ranking.rows] == [lamps[1].title, lamps[0].title]
    assert lamps[1].title in picture.alternative
    assert len(ledger.rows) == 2 and "standard error" in notes.items[0]
    outcome = job(named).blocks[-1].text
    assert outcome.startswith(f"Of 2 designs, '{lamps[1].title}' brings")


def test_nothing_to_report_is_told():
    with pytest.raises(ResultError, match="no result"):
        compose([])


def test_folder_that_cannot_be_written_is_told(tmp_path):
    write_up = WriteUp("Lamp", "", ())
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(ResultError, match="could not be written"):
        save_write_up(write_up, tmp_path / "file")
