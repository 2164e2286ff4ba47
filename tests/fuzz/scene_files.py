"""Spoilt scene files: in their bytes, in their text, in single values, and as a whole."""

from __future__ import annotations

import copy
import json
import random
import re
import tomllib
from pathlib import Path
from typing import Any

from photonsim.results import load_result
from tests.fuzz.commands import run
from tests.fuzz.watched import Verdict

ROOT = Path(__file__).parent.parent.parent
SCENES = sorted([*(ROOT / "scenes").glob("*.toml"), *(ROOT / "tests" / "scene").glob("*.toml")])
PHOTONS = 200
SHEETS = ("prism_film", "diffuser", "clear_plate", "absorbing_polariser", "reflective_polariser")

TOKENS = (
    *(
        "nan",
        "-nan",
        "inf",
        "-inf",
        "1e12",
        "-1e12",
        "1e308",
        "1e-308",
        "5e-324",
        "-1",
        "0",
        "-0.0",
    ),
    *("1", "2", "1.0", "0.5", "1e5", "100000.1", "99999999999999999999", "9" * 5000, "0x7f", "1_0"),
    *("true", "false", '"12"', '""', "[]", "[[]]", "{}", "{ a = 1 }", "1979-05-27", "07:32:00"),
    *(
        '"\\u0000"',
        '"\\n"',
        "'''",
        "\\",
        "=",
        "[",
        "]]",
        "# ",
        "\x00",
        "\ufeff",
        "é",
        "\u202e",
        "💡",
    ),
)
VALUES: tuple[Any, ...] = (
    *(float("nan"), float("inf"), float("-inf"), 1e12, -1e12, 1e308, 1e-308, 5e-324, 1e5, -1e5),
    *(0, 0.0, -0.0, 1, 1.0, -1, 0.5, 1e-9, 1.0 - 1e-12, 1.0 + 1e-12, 10**9, 10**12, 10**30, 2**63),
    *(9, 40, 89.999999, 90.0, 140.0, 360.0, -60.0, 60.0, 380.0, 780.0, 2.5, 1.2, 5000.0, 10_000),
    *(
        True,
        False,
        "",
        "x",
        "y",
        "disc",
        "to_lamp",
        "acrylic",
        "\x00",
        "a" * 10_000,
        "None",
        "${HOME}",
    ),
    *([], [0.0], [[-1.0, 1.0]], [1, 2, 3], [0.0, 90.0], {}, {"kind": "panel"}, {"a": {"b": 1}}),
    *("__import__('os').system('touch /tmp/owned')", "../../../etc/passwd", "/etc/passwd"),
)


def judge(number: int, folder: Path) -> Verdict:
    """Make spoilt scene `number`, check it and, if it passes, trace it."""
    path = folder / "lamp.toml"
    write(random.Random(number), path)
    # The verdict traces a million photons, several times: one in twenty is enough.
    quick = ["--no-trace"] if number % 20 else []
    checked, complaints = run("check", path, *quick)
    told = checked.output
    traced, more = run("trace", path, "--photons", PHOTONS, "--threads", "1", "--out", folder)
    complaints += more
    if traced.exit_code != checked.exit_code:
        complaints.append(f"check says {checked.exit_code}, trace {traced.exit_code}: {told}")
    if checked.exit_code == 2 and "lamp.toml" not in told.splitlines()[0]:
        complaints.append(f"does not say which file is meant: {told}")
    if traced.exit_code == 0:
        result = load_result(folder / "lamp.h5")
        if sum(fate.photons for fate in result.fates) != result.photons:
            complaints.append("the ledger does not close")
    return Verdict("traced" if checked.exit_code == 0 else "refused", complaints, told)


def write(luck: random.Random, path: Path) -> None:
    """Write a spoilt scene; one in fifty is no file of text at all."""
    base = luck.choice(SCENES).read_text("utf-8")
    kind = luck.random()
    if kind < 0.02:
        _no_scene(luck, path, base)
    elif kind < 0.12:
        path.write_bytes(_spoilt_bytes(luck, base.encode()))
    elif kind < 0.45:
        path.write_text(_spoilt_text(luck, base), "utf-8", errors="replace")
    else:
        data = tomllib.loads(base)
        for _ in range(luck.choice((1, 1, 1, 2, 3, 6))):
            luck.choice((_new_value, _new_value, _new_value, _lost, _stray, _renamed, _copied))(
                luck, data
            )
        if luck.random() < 0.05:
            luck.choice((_long_train, _many_groups, _many_pixels, _many_strips))(luck, data)
        path.write_text(_toml(data), "utf-8", errors="replace")


def _toml(data: dict[str, Any]) -> str:
    """Write plain values as TOML, every table in line; a library takes minutes for the longest."""
    return "".join(f"{json.dumps(key)} = {_inline(value)}\n" for key, value in data.items())


def _inline(value: Any) -> str:
    if isinstance(value, dict):
        return f"{{{', '.join(f'{json.dumps(k)} = {_inline(v)}' for k, v in value.items())}}}"
    if isinstance(value, list):
        return f"[{', '.join(map(_inline, value))}]"
    return repr(value) if isinstance(value, float) else json.dumps(value)


def _no_scene(luck: random.Random, path: Path, base: str) -> None:
    kind = luck.randrange(6)
    if kind == 0:
        path.mkdir()
    elif kind == 1:
        path.write_bytes(b"")
    elif kind == 2:
        path.write_bytes(luck.randbytes(luck.randrange(5000)))
    elif kind == 3:
        path.write_text(base, luck.choice(("utf-16", "utf-32", "utf-8-sig")))
    elif kind == 4:
        path.write_bytes(b"\x89HDF\r\n\x1a\n" + luck.randbytes(200))
    else:
        path.write_text(base + "# " + "x" * 2_000_000)


def _spoilt_bytes(luck: random.Random, content: bytes) -> bytes:
    data = bytearray(content)
    for _ in range(luck.choice((1, 2, 8, 40))):
        place = luck.randrange(len(data))
        kind = luck.randrange(4)
        if kind == 0:
            data[place] ^= 1 << luck.randrange(8)
        elif kind == 1:
            data[place : place + luck.randrange(1, 30)] = b""
        elif kind == 2:
            data[place:place] = luck.randbytes(luck.randrange(1, 8))
        else:
            data[place] = luck.randrange(256)
    return bytes(data[: luck.randrange(len(data))] if luck.random() < 0.2 else data)


def _spoilt_text(luck: random.Random, text: str) -> str:
    for _ in range(luck.choice((1, 1, 2, 5))):
        lines = text.split("\n")
        place, other = luck.randrange(len(lines)), luck.randrange(len(lines))
        kind = luck.randrange(6)
        if kind == 0:
            lines[place], lines[other] = lines[other], lines[place]
        elif kind == 1:
            lines.insert(other, lines[place])
        elif kind == 2:
            del lines[place]
        elif kind == 3:
            lines[place] = lines[place][: luck.randrange(len(lines[place]) + 1)] + luck.choice(
                TOKENS
            )
        else:
            found = list(re.finditer(r"(?<== )\S+", text))
            spot = luck.choice(found) if found else None
            if spot:
                lines = (text[: spot.start()] + luck.choice(TOKENS) + text[spot.end() :]).split(
                    "\n"
                )
        text = "\n".join(lines)
    return text


def _tables(data: dict[str, Any]) -> list[dict[str, Any]]:
    return [data] + [
        t for value in data.values() if isinstance(value, dict) for t in _tables(value)
    ]


def _place(luck: random.Random, data: dict[str, Any]) -> tuple[dict[str, Any], str]:
    table = luck.choice([table for table in _tables(data) if table] or [{"nothing": 0}])
    return table, luck.choice(list(table))


def _new_value(luck: random.Random, data: dict[str, Any]) -> None:
    table, key = _place(luck, data)
    value = table[key]
    if isinstance(value, dict) and luck.random() < 0.8:
        return
    if isinstance(value, list) and value and luck.random() < 0.5:
        value[luck.randrange(len(value))] = luck.choice(VALUES[:40])
    elif isinstance(value, int | float) and luck.random() < 0.5:
        table[key] = type(value)(value * luck.choice((0.5, 0.9, 1.1, 2.0, 10.0, -1.0)))
    else:
        table[key] = copy.deepcopy(luck.choice(VALUES))


def _lost(luck: random.Random, data: dict[str, Any]) -> None:
    table, key = _place(luck, data)
    table.pop(key, None)


def _stray(luck: random.Random, data: dict[str, Any]) -> None:
    table, _ = _place(luck, data)
    table[luck.choice(("width", "z", "__class__", "kind", "", "a.b", "é", "ies_file", "mail"))] = (
        luck.choice(VALUES)
    )


def _renamed(luck: random.Random, data: dict[str, Any]) -> None:
    table, key = _place(luck, data)
    if key in table:
        table[luck.choice((key.upper(), key[:-1] or "k", key + "_mm", "base", "a" * 50))] = (
            table.pop(key)
        )


def _copied(luck: random.Random, data: dict[str, Any]) -> None:
    train = data.get("train")
    if isinstance(train, dict) and train:
        part = copy.deepcopy(luck.choice(list(train.values())))
        if isinstance(part, dict) and isinstance(part.get("z_mm"), int | float):
            part["z_mm"] = part["z_mm"] + luck.choice((0.0, 1.0, 2.0, 5.0))
        train[luck.choice(("copy", "walls", "bars", "x" * 41))] = part


def _long_train(luck: random.Random, data: dict[str, Any]) -> None:
    count = luck.choice((150, 199, 201, 1000, 3000))
    sheet = {"kind": "clear_plate", "index": 1.5, "thickness_mm": 0.0}
    data["train"] = {f"s{k}": sheet | {"z_mm": 2.0 + 0.001 * k} for k in range(count)} | (
        data.get("train") if isinstance(data.get("train"), dict) else {}
    )


def _many_groups(luck: random.Random, data: dict[str, Any]) -> None:
    group = {"width_mm": 0.01, "height_mm": 0.01, "flux_lm": 1.0}
    data["emitters"] = {
        f"g{k}": group | {"x_mm": 0.02 * k} for k in range(luck.choice((50, 100, 101, 2000)))
    }


def _many_pixels(luck: random.Random, data: dict[str, Any]) -> None:
    for table in _tables(data):
        if "active_width_mm" in table:
            table["columns"], table["rows"] = luck.choice(
                ((10**9, 9), (31_623, 31_623), (10**12, 10**12), (9, 10**9), (1000, 1000), (9, 9))
            )


def _many_strips(luck: random.Random, data: dict[str, Any]) -> None:
    for table in _tables(data):
        if table.get("kind") in SHEETS:
            count = luck.choice((100, 9_999, 10_001, 20_000))
            step = luck.choice((0.001, 0.01))
            spans = [[-40.0 + step * k, -40.0 + step * (k + 0.5)] for k in range(count)]
            table["strips"] = {"across": luck.choice("xy"), "covered_mm": spans}
            return
