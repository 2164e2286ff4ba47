"""Spoilt LM-63 files beside a scene that names one: checked, and traced if taken."""

from __future__ import annotations

import random
import re
from pathlib import Path

from tests.fuzz.commands import run
from tests.fuzz.result_files import spoil_bytes
from tests.fuzz.watched import Verdict

MEASURED = Path(__file__).parents[2] / "scenes" / "measured"
TOKENS = (
    *("nan", "inf", "-inf", "1e-200", "1e200", "1e308", "-1", "0", "-0.0", "5e-324", "360", "90.0"),
    *("1e9", "x", "", "TILT=INCLUDE", "9" * 400, "1,2", "0x10", "\x00", "\x1b[2J", "\ufeff", "1_0"),
)


def judge(number: int, folder: Path) -> Verdict:
    """Spoil LM-63 file `number`, check its scene and now and then trace it."""
    luck = random.Random(number)
    source = MEASURED / "oval_lamp.toml"
    text = source.read_text("utf-8")
    (name,) = set(re.findall(r'lm63_file = "([^"]+)"', text))
    (folder / "lamp.toml").write_text(text, "utf-8")
    path = folder / name
    path.write_bytes((MEASURED / name).read_bytes())
    if luck.random() < 0.2:
        spoil_bytes(luck, path)
    else:
        words = re.split(r"(\s+)", path.read_text("latin-1"))
        for _ in range(luck.choice((1, 1, 2, 5))):
            words[luck.randrange(len(words))] = luck.choice(TOKENS)
        path.write_bytes("".join(words).encode("latin-1", "replace"))
    if luck.random() < 0.05:
        path.unlink()
        path.symlink_to("/etc/passwd")
    ended, complaints = run("check", folder / "lamp.toml")
    if ended.exit_code == 0 and luck.random() < 0.3:
        asked = ("--photons", 200, "--threads", 1, "--out", folder)
        _, more = run("trace", folder / "lamp.toml", *asked)
        complaints += more
    if re.search("[\x00-\x08\x0b-\x1f\x7f]", ended.output):
        complaints.append("sent a control character to the terminal")
    return Verdict("taken" if ended.exit_code == 0 else "refused", complaints, ended.output)
