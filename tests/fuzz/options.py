"""Commands with one or two options that make no sense, or hardly any: told before any work."""

from __future__ import annotations

import os
import random
from pathlib import Path

from tests.fuzz.commands import run
from tests.fuzz.result_files import good
from tests.fuzz.watched import Verdict

NUMBERS = (
    *("nan", "inf", "-inf", "-1", "0", "-0.0", "1e300", "1e-300", "1e999", "5e-324", "0.5", "1.5"),
    *("x", "", "9" * 400, "1_0", "0x10", "١٢", "1e14", "9" * 20, "--", "\x1b[2J", "1,2"),
)
PATHS = (
    *("train.film.z_mm", "train.film.strips.gap_mm", "train.film.strips.count", "title", "nope"),
    *("train", "", "a..b", "train.film.z_mm.x", "emitters.bars.rows", "x[0]", "housing.depth_mm"),
    *("train.panel.columns", "train[0]", "[" * 300, "é", "train.film.__class__", "'", '"'),
)
FIGURES = ("collected_lm", "structure", "evenness", "RMS angle, °", "nope", "", "--", "\x07")
FILES = ("lamp.toml", "lamp.h5", "nowhere.toml", ".", "pipe", "/dev/null", "", "lamp.toml/x")
Words = list[str]


def judge(number: int, folder: Path) -> Verdict:
    """Run command line `number`."""
    luck = random.Random(number)
    lamp, content, _ = good()
    (folder / "lamp.toml").write_text(lamp.text, "utf-8")
    (folder / "lamp.h5").write_bytes(content)
    if hasattr(os, "mkfifo"):
        os.mkfifo(folder / "pipe")
    here = os.getcwd()
    os.chdir(folder)
    try:
        command = COMMANDS[luck.randrange(len(COMMANDS))](luck)
        ended, complaints = run(*command)
    finally:
        os.chdir(here)
    if ended.exit_code == 1 and command[0] == "tune":  # no design within the limits
        complaints = [one for one in complaints if "exit code 1" not in one]
    if "\x1b" in ended.output or "\x07" in ended.output:
        complaints.append(f"{command}: sent a control character to the terminal")
    return Verdict("taken" if ended.exit_code == 0 else "refused", complaints, ended.output)


def _number(luck: random.Random, good_one: str) -> str:
    return luck.choice(NUMBERS) if luck.random() < 0.4 else good_one


def _file(luck: random.Random, good_one: str) -> str:
    return luck.choice(FILES) if luck.random() < 0.2 else good_one


def _figure(luck: random.Random) -> str:
    return luck.choice(FIGURES)


def _path(luck: random.Random) -> str:
    return luck.choice(PATHS)


def _trace(luck: random.Random) -> Words:
    # Never more than a few thousand photons: what is asked for in earnest takes its time.
    few = luck.choice(("200", "2e2", "0", "-5", "1.5", "nan", "x", "1e15", ""))
    words = ["trace", _file(luck, "lamp.toml"), "--out", _file(luck, "out"), "--photons", few]
    words += ["--seed", _number(luck, "1"), "--threads", luck.choice(("1", "0", "x", "1025"))]
    words += ["--figure", _figure(luck)] if luck.random() < 0.4 else []
    words += ["--relative-error", _number(luck, "0.5")] if luck.random() < 0.4 else []
    words += ["--save-every", _number(luck, "30")] if luck.random() < 0.4 else []
    return words


def _sweep(luck: random.Random) -> Words:
    words = ["sweep", _file(luck, "lamp.toml"), "--out", _file(luck, "out"), "--photons", "200"]
    if luck.random() < 0.5:
        count = luck.choice(("0", "-1", "x", "1e9", "99999999", "1000001"))
        words += ["--range", _path(luck), _number(luck, "9"), _number(luck, "12"), count]
    else:
        words += ["--values", _path(luck), _number(luck, "1e300")]
    words += ["--show", luck.choice(FIGURES[3:])] if luck.random() < 0.5 else []
    words += ["--tie", _path(luck), _path(luck)] if luck.random() < 0.3 else []
    return words + (["--points", _file(luck, "lamp.h5")] if luck.random() < 0.2 else [])


def _tune(luck: random.Random) -> Words:
    words = ["tune", _file(luck, "lamp.toml"), "--out", "out", "--photons", "200", "--trials"]
    words += [luck.choice(("0", "-1", "x", "2")), "--most", _figure(luck)]
    words += ["--between", _path(luck), _number(luck, "9"), _number(luck, "8")]
    words += ["--at-least", _figure(luck), _number(luck, "1")] if luck.random() < 0.5 else []
    return words + (["--least", _figure(luck)] if luck.random() < 0.3 else [])


def _tolerance(luck: random.Random) -> Words:
    words = ["tolerance", _file(luck, "lamp.toml"), "--out", "out", "--photons", "200"]
    words += ["--within", _path(luck), luck.choice(NUMBERS), "--show", luck.choice(FIGURES[3:])]
    return [*words, "--builds", luck.choice(("0", "99", "x", "100", "1e3"))]


def _others(luck: random.Random) -> Words:
    lens = ["lens"]
    for option, usual in (("diameter", "60"), ("centre", "9"), ("edge", "4.3"), ("focal", "187")):
        lens += [f"--{option}", _number(luck, usual)]
    return luck.choice(
        (
            ["replay", _file(luck, "lamp.h5"), luck.choice(NUMBERS)],
            ["check", _file(luck, "lamp.toml")],
            ["supply", _file(luck, "lamp.toml")],
            ["preview", _file(luck, "pipe"), "--picture", _file(luck, "lamp.h5"), "--out", "out"],
            ["figures", luck.choice(FILES[2:]), "--paths", _number(luck, "2")],
            ["compare", _file(luck, "lamp.h5"), _file(luck, "lamp.h5"), "--photons", "200"],
            ["cut", luck.choice(FILES[2:]), "--kerf", _number(luck, "0.1")],
            ["race", _file(luck, "lamp.toml"), "--figure", luck.choice(FIGURES[3:]), "--out", "o"],
            ["fit", _file(luck, "lamp.toml"), _file(luck, "lamp.toml"), "--free", _path(luck),
             luck.choice(NUMBERS), luck.choice(NUMBERS)],
            ["report", luck.choice(FILES[2:]), "--study", _file(luck, "lamp.h5"), "--out", "out"],
            lens,
        )
    )  # fmt: skip


COMMANDS = (_trace, _sweep, _tune, _tolerance, _others, _others, _others)
