"""Every block of every document does what it says, in a folder as a reader has it.

A page begins with the lamps that it names and the README's own lamp. What takes long is shortened:
SHORTER says how, by command; of a range three designs are traced, of sums in Python fewer photons;
only the lamps that a page's own blocks name, and the first, are there. The rest runs as it stands.
"""

import re
import tomllib

import pytest
from click.testing import CliRunner

from photonsim.cli import main
from photonsim.scene import parse_scene
from tests.documents.reading import DOCUMENTS, ROOT, blocks, commands, name_of, verb_and_rest

FEW = {"--photons": "20000"}
STUDY = {"--photons": "16384", "--relative-error": "0.5"}
SHORTER = {
    "trace": FEW,
    "compare": FEW,
    "report": FEW,
    "fit": FEW,
    "race": {"--photons": "65536"},
    "sweep": STUDY,
    "tune": {**STUDY, "--trials": "3"},
    "tolerance": {**STUDY, "--builds": "100"},
}
# What says when to end, and by how many words that is more.
ENDS = {"--photons": 1, "--relative-error": 1, "--seconds": 1, "--fit-to-print": 0}
RUN = [document for document in DOCUMENTS if blocks(document)]
# Installing and testing: tests/wheel.py does that, and .ci/run.
OTHERS = ("python", "python3", "pip", "dask")


def shortened(words):
    """A command of ours with few photons and designs."""
    fewer = SHORTER.get(words[0], {})
    if fewer:
        kept, rest = [], list(words)
        while rest:
            word = rest.pop(0)
            if word in ENDS:
                del rest[: ENDS[word]]
                continue
            kept.append(word)
            if word == "--range":
                kept += [*rest[:3], "3"]
                del rest[:4]
        words = [*kept, *(word for pair in fewer.items() for word in pair)]
    return words


def own_lamp():
    """The lamp of the README, as it is at the end."""
    found = [b for b in blocks(ROOT / "README.md") if b.argument == "my_lamp.toml"]
    return "".join(block.text for block in found)


def prepared(folder, document):
    """Lay the lamps of a page's blocks, and the README's own, into a folder."""
    assert CliRunner().invoke(main, ["scenes", "--copy", str(folder / "scenes")]).exit_code == 0
    named = " ".join(block.text + block.argument for block in blocks(document))
    for path in sorted((folder / "scenes").glob("*.toml"))[1:]:
        if path.name not in named:
            path.unlink()
    (folder / "my_lamp.toml").write_text(own_lamp(), "utf-8")


def test_a_command_is_shortened():
    words = ["trace", "a.toml", "--relative-error", "0.1", "--fit-to-print", "--out", "b"]
    assert shortened(words) == ["trace", "a.toml", "--out", "b", "--photons", "20000"]
    assert shortened(["check", "a.toml"]) == ["check", "a.toml"]
    words = ["sweep", "--range", "a.b", "1", "2", "30"]
    assert shortened(words)[:6] == ["sweep", "--range", "a.b", "1", "2", "3"]


@pytest.mark.parametrize("document", RUN, ids=name_of)
def test_blocks_run(document, tmp_path, monkeypatch):
    prepared(tmp_path, document)
    monkeypatch.chdir(tmp_path)
    for block in blocks(document):
        if block.mark in ("file", "append"):
            with (tmp_path / block.argument).open(
                "w" if block.mark == "file" else "a", encoding="utf-8"
            ) as file:
                file.write(block.text)
            if block.language == "toml":
                parse_scene((tmp_path / block.argument).read_text("utf-8"), block.argument)
        elif block.mark == "only parsed":
            assert block.argument, f"why is this not run?\n{block.text}"
        elif block.language == "sh":
            run_shell(block.text)
        elif block.language == "python":
            text = re.sub(r"photons=\d[\d_]*", "photons=16_384", block.text)
            exec(compile(text, name_of(document), "exec"), {})
        else:
            pytest.fail(f"{name_of(document)}: what is this block for?\n{block.text}")


def run_shell(text):
    for words in commands(text):
        ours = verb_and_rest(words)
        if ours is None:
            assert words[0].rpartition("/")[2] in OTHERS, words
            continue
        done = CliRunner().invoke(main, shortened(ours))
        # With few photons `tune` may find nothing within the limits, which is 1.
        expected = (0, 1) if ours[0] == "tune" else (0,)
        assert done.exit_code in expected, f"{' '.join(words)}\n{done.output}\n{done.exception}"


@pytest.mark.parametrize("document", RUN, ids=name_of)
def test_commands_are_ones_that_exist(document):
    """Of blocks that are not run too: verbs, options and their number of words."""
    for block in blocks(document):
        for words in commands(block.text) if block.language == "sh" else ():
            ours = verb_and_rest(words)
            if ours is not None:
                command = main.commands[ours[0]]
                context = command.context_class(command, resilient_parsing=True)
                command.make_parser(context).parse_args(ours[1:])


def test_the_own_lamp_is_25_lines_and_carries_comments():
    first = next(b for b in blocks(ROOT / "README.md") if b.argument == "my_lamp.toml")
    assert len(first.text.splitlines()) == 25
    assert set(tomllib.loads(first.text)) == {"title", "housing", "emitters", "train", "screen"}
