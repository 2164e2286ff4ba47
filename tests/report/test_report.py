"""The write-up: whole without a network, readable without pictures, safe with anyone's words."""

import base64
import re
from html.parser import HTMLParser
from itertools import pairwise

import numpy as np
import pytest

from photonsim.engine import sample_paths, trace
from photonsim.report import WriteUp, compose, save_write_up
from photonsim.results import ResultError
from photonsim.results.files.study_table import Column, StudyTable
from photonsim.scene import parse_scene
from tests.shipped import scene as shipped

HOSTILE = 'Lamp <script>alert("x")</script> & | `co` *b*'
# HTML elements without content and end tag (HTML Living Standard, 13.1.2, void elements).
VOID = {"meta", "img", "br", "hr", "link", "input"}


class Page(HTMLParser):
    """Collects what a page needs and checks that its tags close in order."""

    def __init__(self, source):
        super().__init__()
        self.open, self.images, self.links, self.ids, self.tags = [], [], [], [], []
        self.text, self.folded = "", ""
        self.feed(source)

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
        self.folded += data * ("details" in self.open)


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
    table = StudyTable(
        "sweep",
        HOSTILE,
        scene.text,
        (
            Column("train.film.z_mm", "film, z", "mm", "parameter", np.array([8.0, 10.0, 12.0])),
            Column("collected_lm", "collected", "lm", "figure", np.array([0.9, 1.0, 1.1]),
                   np.array([0.01, 0.01, 0.01])),
        ),
    )  # fmt: skip
    folder = tmp_path_factory.mktemp("report")
    write_up = compose([(HOSTILE, traced)], sample_paths, [table], "Of lamps & films")
    return folder, save_write_up(write_up, folder)


@pytest.fixture(scope="module")
def page(written):
    return Page(written[1][0].read_text(encoding="utf-8"))


def test_page_needs_nothing_else(written, page):
    source = written[1][0].read_text(encoding="utf-8")
    assert page.open == []
    assert all(link.startswith(("#", "data:image/png;base64,")) for link in page.links)
    assert "script" not in page.tags and "@import" not in source and "url(" not in source
    assert {link[1:] for link in page.links if link.startswith("#")} <= set(page.ids)
    assert len(page.ids) == len(set(page.ids))


def test_every_picture_says_what_it_shows(page):
    assert len(page.images) >= 9
    for image in page.images:
        assert len(image["alt"]) > 30
        content = image["src"].removeprefix("data:image/png;base64,")
        assert base64.b64decode(content, validate=True).startswith(b"\x89PNG\r\n\x1a\n")


def test_headings_lead_from_one_to_the_next(page):
    # No level is left out on the way down (WCAG 2.2, technique G141).
    levels = [int(tag[1]) for tag in page.tags if re.fullmatch("h[1-6]", tag)]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(low <= high + 1 for high, low in pairwise(levels))
    assert [name for name in page.ids if not name.startswith(("figure-", "study-"))] == [
        "wanted", "lamp", "answer", "map", "picture", "losses", "studies", "build", "cutting",
        "orientation", "supply", "cautions", "uncertain", "warnings", "assumptions", "computed",
    ]  # fmt: skip


def test_all_that_a_maker_publishes_is_there(page):
    for wanted in (
        "What was wanted", "The answer", "Supply and heat", "Parts and cutting",
        "Before you switch it on", "What is uncertain", "How it was computed", "A range tried",
        "Of lamps & films", HOSTILE, "±", "IEC 62471", "[housing]", "WARNING",
        "of the light was given up",
    ):  # fmt: skip
        assert wanted in page.text, wanted


def test_what_is_taken_for_granted_holds_for_lamps_with_polarisers_too(page):
    """The shipped backlights have one; kernel/README.md, Polarised light, says what is traced."""
    assert "Polarisation is left out" not in page.text
    assert "Polarisation is traced where a lamp has a polariser" in page.text


def test_what_few_read_is_folded(page):
    for wanted in ("[housing]", "Étendue", "half intensity, x", "Luminance"):
        assert wanted in page.folded and page.text.count(wanted) == page.folded.count(wanted)
    assert "WARNING" not in page.folded and "IEC 62471" in page.text.replace(page.folded, "")


def test_markdown_names_files_that_are_there(written, page):
    folder, files = written
    text = files[1].read_text(encoding="utf-8")
    pictures = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", text)
    assert len(pictures) >= 6
    assert all((folder / name).is_file() for name in pictures)
    assert {folder / name for name in pictures} == set(files[2:])
    assert len(text) < 0.6 * len(page.text)
    assert "<script>" not in re.sub(r"\\<", "", text)
    # Cells of one table have the same number of bars, whatever stands in them.
    for table in re.findall(r"(?m)(?:^\|.*\n)+", text):
        bars = {len(re.findall(r"(?<!\\)\|", line)) for line in table.splitlines()}
        assert len(bars) == 1


def test_nothing_to_report_is_told():
    with pytest.raises(ResultError, match="no result"):
        compose([], sample_paths)


def test_folder_that_cannot_be_written_is_told(tmp_path):
    write_up = WriteUp("Lamp", "", "", ())
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(ResultError, match="could not be written"):
        save_write_up(write_up, tmp_path / "file")
