"""No document names a verb, option, key, figure, file or place that does not exist."""

import re
import tokenize
from functools import cache

import pytest

import photonsim
from photonsim.cli import main
from photonsim.figures import NAMES
from photonsim.results import FIGURES
from photonsim.scene.keys import sections
from tests.documents.reading import DOCUMENTS, ROOT, blocks, inline, name_of

# Pages for who works on the code, too: there any name or word of the sources may stand.
FOR_DEVELOPERS = (
    "DEVELOPERS.md",
    "CHANGELOG.md",
    "benchmarks",
    "photonsim/kernel",
    "photonsim/results",
)
SOURCES = [
    path for room in ("photonsim", "tests", "benchmarks") for path in (ROOT / room).rglob("*.py")
]
# What is a file's name within code in a line.
FILE = re.compile(r"[\w./-]*\w\.(?:py|md|toml|ipynb|csv|h5|html|svg|jsonl|json|yml|ies)")


@cache
def texts():
    return "\n".join(path.read_text(encoding="utf-8") for path in SOURCES)


@cache
def names_in_sources():
    """Every name in the sources, and every word of their strings."""
    found = set()
    for path in SOURCES:
        with path.open("rb") as file:
            for token in tokenize.tokenize(file.readline):
                if token.type in (tokenize.NAME, tokenize.STRING):
                    found |= set(re.findall(r"\w+", token.string))
    return found


@cache
def names_for_users():
    """Keys, figures, drawings, what the Python door offers, and the names of shipped files."""
    found = {key.name for section in sections() for key in section.keys} | set(FIGURES)
    found |= {section.name for section in sections()} | set(NAMES) | set(photonsim.__all__)
    for name in photonsim.__all__:
        found |= set(dir(getattr(photonsim, name)))
    values = {word for section in sections() for key in section.keys
              for word in re.findall(r"\w+", key.allowed)}  # fmt: skip
    return found | values | {path.stem for path in (ROOT / "scenes").rglob("*.*")}


def options():
    """Every option of every command, and of what else is run by hand."""
    ours = {o for c in main.commands.values() for p in c.params for o in p.opts}
    return ours | {"--help", "--version"}


@pytest.mark.parametrize("document", DOCUMENTS, ids=name_of)
def test_verbs_and_options(document):
    name = name_of(document)
    for code in inline(document) if name != "CHANGELOG.md" else ():
        if found := re.match(r"photonsim ([a-z]\w*)(?: |$)", code):
            assert found[1] in main.commands, f"{name}: {code}"
        if code.startswith(("python", "pytest", "pip", ".ci")):
            known = set(re.findall(r"--[a-z][a-z-]+", texts()))
        else:
            known = options() | {"--host"}  # dask's
            known |= (
                set(re.findall(r"--[a-z][a-z-]+", texts())) if name in FOR_DEVELOPERS else set()
            )
        for option in re.findall(r"(?<![\w-])--[a-z][a-z-]+", code):
            assert option in known or name.startswith("benchmarks"), f"{name}: {code}"


@pytest.mark.parametrize("document", DOCUMENTS, ids=name_of)
def test_keys_figures_and_names(document):
    name = name_of(document)
    developers = name.startswith(FOR_DEVELOPERS)
    own = " ".join(block.text for block in blocks(document))
    for code in inline(document) if name != "CHANGELOG.md" else ():
        for word in re.findall(r"\b[a-z]\w*_\w+\b", FILE.sub("", code)):
            known = word in names_for_users() or word in own
            assert known or (developers and word in names_in_sources()), f"{name}: `{code}`: {word}"


@pytest.mark.parametrize("document", DOCUMENTS, ids=name_of)
def test_files(document):
    name = name_of(document)
    places = [document.parent, ROOT, *(ROOT / room for room in ("photonsim", "tests", "scenes"))]
    known = texts() + " ".join(block.text + block.argument for block in blocks(ROOT / "README.md"))
    for code in inline(document) if name != "CHANGELOG.md" else ():
        for file in FILE.findall(code):
            folder, _, last = file.rpartition("/")
            there = any((place / file).exists() for place in places)
            made = not folder or f"--out {folder}\n" in known
            made = made and re.search(rf"(?<!\w){re.escape(last)}", known)
            assert there or made, f"{name}: `{code}`: {file}"


@pytest.mark.parametrize("document", DOCUMENTS, ids=name_of)
def test_links_and_pictures(document):
    text = document.read_text(encoding="utf-8")
    for words, target in re.findall(r"\[([^\]\n]*)\]\(([^)\s]+)\)", text):
        assert (document.parent / target).exists(), target
        assert len(words) > 5, f"{target}: what is to be seen there?"


def test_the_readme_is_short_and_tells_every_verb():
    lines = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    assert len(lines) <= 150
    rows = [line for line in lines if line.startswith("| ") and line.endswith("` |")]
    told = set(
        re.findall(r"`(\w+)`", " ".join(row.rpartition(" | `")[2].join("``") for row in rows))
    )
    told = {verb for row in rows for verb in re.findall(r"`(\w+)`", row)}
    assert told == set(main.commands)


def test_the_test_command_is_found_by_continuous_integration():
    pattern = r"(?m)^env/bin/python .* -m pytest.*$"
    assert "^env/bin/python .* -m pytest" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    found = re.findall(pattern, (ROOT / "README.md").read_text(encoding="utf-8"))
    assert len(found) == 1
