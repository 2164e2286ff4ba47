"""The rooms of the house and the doors between them: imports run one way."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import photonsim

PACKAGE = Path(photonsim.__file__).parent
FILES = sorted(PACKAGE.rglob("*.py"))

# Which rooms a room may import from. A file beside the rooms is a room by itself; 'codes' is what
# of the kernel is plain: data, and what makes the guide's.
PLAIN = {"codes", "tallies", "allotment"}
FOR_ALL = "arrays"
ARROWS: dict[str, set[str]] = {
    "scene": {"codes"},
    "kernel": set(),
    "words": {"scene"},
    "program": {"scene", "codes"},
    "results": {"scene", "codes", "words"},
    "engine": {"program", "kernel", "codes", "results", "scene", "words", "version"},
    "studies": {"engine", "workshop", "results", "scene", "words", "version"},
    "public": {
        "report",
        "summary",
        "supply",
        "studies",
        "workshop",
        "engine",
        "results",
        "scene",
        "words",
    },
    "optics": {"scene", "words"},
    "supply": {"scene", "words"},
    "workshop": {"scene", "words", "results"},
    "warnings": {"optics", "scene", "words"},
    "summary": {"warnings", "optics", "results", "scene", "words"},
    "figures": {"optics", "supply", "workshop", "results", "scene", "words"},
    "report": {"figures", "summary", "supply", "workshop", "optics", "studies", "results", "words"},
    "live": {"figures", "summary", "studies", "engine", "results", "scene", "words"},
    "cli": {
        "live",
        "report",
        "figures",
        "summary",
        "supply",
        "workshop",
        "optics",
        "studies",
        "engine",
        "results",
        "scene",
        "words",
        "version",
        "leaving",
    },
    "photonsim": {
        "public",
        "engine",
        "figures",
        "results",
        "scene",
        "studies",
        "supply",
        "workshop",
        "version",
    },
    FOR_ALL: set(),
    "version": set(),
    "leaving": set(),
    "__main__": {"cli", "leaving"},
}
# Heavy libraries and the only rooms that may import them.
HEAVY = {
    "numba": {"kernel", "engine"},
    "llvmlite": {"kernel"},
    "h5py": {"results"},
    "matplotlib": {"figures"},
}


def module_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {module_of(path): path for path in FILES}


def room_of(path: Path) -> str:
    return ".".join(module_of(path).split(".")[:2]).removeprefix("photonsim.")


def imports_of(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative imports hide the arrows"
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def module_named(name: str) -> str:
    """The module that an import of this name runs: itself, or the one that holds it."""
    return name if name in MODULES else name.rpartition(".")[0]


def circles(arrows: dict[str, set[str]]) -> list[list[str]]:
    """The circles among some arrows: what is left once nodes without a way on, or in, are gone."""
    left = {node: targets - {node} for node, targets in arrows.items()}
    while True:
        reached = set().union(*left.values()) if left else set()
        ended = {node for node, targets in left.items() if not targets or node not in reached}
        if not ended:
            return sorted([node, *sorted(targets)] for node, targets in left.items())
        left = {node: targets - ended for node, targets in left.items() if node not in ended}


def test_circles_are_found():
    assert circles({"a": {"b"}, "b": {"c"}, "c": set()}) == []
    assert circles({"a": {"b"}, "b": {"c"}, "c": {"b", "d"}, "d": set()}) == [
        ["b", "c"],
        ["c", "b"],
    ]


def test_no_circles():
    # Whatever kind an import is: at the head, in a function, or for types only. Whoever imports
    # from a room's front door, its __init__, imports the whole room.
    modules = {
        module: {module_named(name) for name in imports_of(path) if name.startswith("photonsim")}
        for module, path in MODULES.items()
    }
    assert circles(modules) == []
    rooms: dict[str, set[str]] = {}
    for module, targets in modules.items():
        room = room_of(MODULES[module])
        rooms.setdefault(room, set()).update(room_of(MODULES[target]) for target in targets)
    assert circles(rooms) == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_run_one_way(path):
    room = room_of(path)
    for name in imports_of(path):
        if not name.startswith("photonsim"):
            library = name.split(".")[0]
            assert room in HEAVY.get(library, {room}), f"{room} imports {library}"
            continue
        parts = name.split(".")
        target = room_of(MODULES[module_named(name)])
        if parts[1:2] == ["kernel"] and set(parts[2:3]) & PLAIN:
            target = "codes" if room != "kernel" else "kernel"
        assert target in ARROWS[room] | {room, FOR_ALL}, f"{room} imports {name}"


def test_help_imports_nothing_heavy():
    code = (
        "import sys, photonsim.cli\n"
        "try: photonsim.cli.main(['--help'])\n"
        "except SystemExit: pass\n"
        "heavy = {'numba', 'numpy', 'h5py', 'matplotlib', 'scipy', 'pydantic'} & set(sys.modules)\n"
        "sys.exit(' '.join(heavy) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_a_trace_imports_only_what_it_needs():
    # Processor seconds each adds to a start: numba 0.4, scipy.optimize 0.18, scipy.special 0.07,
    # h5py 0.03. Whatever has to be compiled is, by the first of two runs.
    scene = Path(__file__).parents[1] / "scenes" / "d_split_film.toml"
    code = (
        "import sys, photonsim\n"
        f"photonsim.trace(photonsim.load_scene({str(scene)!r}), photons=256)\n"
        "heavy = {'numba', 'scipy', 'h5py', 'matplotlib', 'jinja2', 'optuna'}\n"
        "sys.exit(' '.join(heavy & set(sys.modules)) or 0)"
    )
    subprocess.run([sys.executable, "-c", code])
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_files_stay_short():
    long = {
        str(path.relative_to(PACKAGE)): count
        for path in FILES
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > 400
    }
    assert not long


def test_functions_fit_on_a_screen():
    # In the kernel a call costs registers and time.
    long = {
        f"{module}.{node.name}": length
        for module, path in MODULES.items()
        if room_of(path) != "kernel"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.FunctionDef)
        and (length := (node.end_lineno or 0) - node.lineno + 1) > 60
    }
    assert not long


@pytest.mark.parametrize("folder", sorted({path.parent for path in FILES}), ids=lambda f: f.name)
def test_rooms_are_small_or_say_why(folder):
    front = folder / "__init__.py"
    files = [path for path in FILES if path.parent == folder and path != front]
    if len(files) > 12:
        why = ast.get_docstring(ast.parse(front.read_text(encoding="utf-8"))) or ""
        assert "Many files lie flat here: one file for each" in " ".join(why.split())
