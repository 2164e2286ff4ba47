"""The notebook beside the scenes: its cells run as plain code, and what they show can be shown."""

import ast
import json
import shutil
from pathlib import Path

import pytest

SCENES = Path(__file__).parents[1] / "scenes"
NOTEBOOK = json.loads((SCENES / "first_look.ipynb").read_text("utf-8"))
CELLS = ["".join(cell["source"]) for cell in NOTEBOOK["cells"] if cell["cell_type"] == "code"]


def test_it_is_short_and_carries_no_outputs():
    assert len(NOTEBOOK["cells"]) == 15
    assert not any(cell.get("outputs") for cell in NOTEBOOK["cells"])


@pytest.mark.filterwarnings("error")
def test_its_cells_run(monkeypatch, tmp_path):
    for scene in SCENES.glob("*.toml"):
        shutil.copy(scene, tmp_path)
    monkeypatch.chdir(tmp_path)
    names: dict = {}
    pictures = 0
    for cell in CELLS:
        tree = ast.parse(cell)
        last = tree.body[-1]
        shown = None
        if isinstance(last, ast.Expr):
            exec(compile(ast.Module(tree.body[:-1], []), "cell", "exec"), names)
            shown = eval(compile(ast.Expression(last.value), "cell", "eval"), names)
        else:
            exec(compile(tree, "cell", "exec"), names)
        if hasattr(shown, "_repr_png_"):
            assert shown._repr_png_().startswith(b"\x89PNG")
            pictures += 1
        elif shown is not None:
            assert len(repr(shown).splitlines()) <= 12
            assert "<table>" in getattr(shown, "_repr_html_", lambda: "<table>")()
    assert pictures == 5
    assert (tmp_path / "my_lamp.toml").is_file()
