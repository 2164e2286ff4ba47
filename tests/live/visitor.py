"""A page without a browser, for tests of the model."""

import time
from pathlib import Path

import photonsim
from photonsim.live.light import answers
from photonsim.live.model import Model

SCENES = Path(__file__).parents[2] / "scenes"
FIRST = answers.COUNTS[0]
PATIENCE_S = 120.0


class Visitor:
    """A page without a browser: it commands and hears what it is told."""

    def __init__(self, model, **opening):
        self.model = model
        self.state = model.act("open", opening)
        self.tab = self.state["tab"]
        self.heard = {}
        self._news = model.listen(self.tab)

    def do(self, action, /, **command):
        return self.model.act(action, {"tab": self.tab, **command})

    def set(self, path, value, **rest):
        return self.do("set", path=path, value=value, **rest)

    def wait(self, kind, is_wanted=lambda message: True):
        """Return the next message of a kind that is wanted, or the last one told if it is."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            found = self.heard.pop(kind, None)
            if found is not None and is_wanted(found):
                return found
            self.heard |= dict(next(self._news))
        raise AssertionError(f"no {kind} was told")

    def first_answer(self, number):
        return self.wait("answer", lambda told: told["number"] == number)


def model_of(folder, name="a_bars"):
    file = folder / f"{name}.toml"
    return Model(photonsim.load_scene(file), name, folder, file)


def controls(state):
    return {one["path"]: one for group in state["groups"] for one in group["controls"]}
