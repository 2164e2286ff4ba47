"""`python -m benchmarks`: what photonsim does on this machine, beside what was asked of it.

    python -m benchmarks [PART...] [--seconds 1] [--beside FOLDER] [--json PATH]
    python -m benchmarks --device cuda [--long]

Parts: rates, start, answers, memory, others and profile; without names all but the last.
With --device cuda and no names: the GPUs alone.
The table comes last, ratios first; what is being measured meanwhile, and what came of it, stands on
the error stream.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from benchmarks import machine
from benchmarks.findings import Findings, claims_table

PARTS = ("rates", "start", "answers", "memory", "others", "profile")
USUAL = PARTS[:-1]


def main(arguments: Sequence[str] | None = None) -> None:
    """Run the chosen parts and print what they found."""
    given = _parser().parse_args(arguments)
    begin = time.perf_counter()
    facts = machine.facts()
    print(machine.headline(facts), flush=True)
    chosen = given.parts or ([] if given.device == "cuda" else list(USUAL))
    found = [_run(part, given) for part in chosen]
    if given.device == "cuda":
        found.append(_gpu(given))
    claims = [claim for findings in found for claim in findings.claims]
    if claims:
        print("\n" + claims_table(claims))
    for findings in found:
        print(f"\n{findings.title}\n")
        print("\n\n".join(findings.tables))
    print(f"\n{time.perf_counter() - begin:.0f} s in all")
    if given.json is not None:
        _save(given.json, facts, found)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m benchmarks", description=__doc__.partition("\n")[0]
    )
    parser.add_argument(
        "parts", nargs="*", metavar="PART", help=f"what to measure: {', '.join(PARTS)}"
    )
    parser.add_argument("--seconds", type=float, default=1.0, help="length of a timed run")
    parser.add_argument("--device", choices=("cpu", "cuda"), default="cpu")
    parser.add_argument(
        "--long",
        action="store_true",
        help="memory at a billion photons, a sweep of 200 points; on a GPU a map of 1e11",
    )
    parser.add_argument(
        "--beside", type=Path, metavar="FOLDER", help="answers: source tree of another version"
    )
    parser.add_argument(
        "--only",
        type=lambda words: words.split(","),
        default=(),
        metavar="PHASES",
        help="answers: some of its phases, as first,trace (see benchmarks/README.md)",
    )
    parser.add_argument("--json", type=Path, metavar="PATH", help="save all numbers there")
    parser.set_defaults(error=parser.error)
    return parser


def _run(part: str, given: argparse.Namespace) -> Findings:
    if part == "rates":
        from benchmarks.rates import rates

        return rates(given.seconds)
    if part == "start":
        from benchmarks.start import start

        return start()
    if part == "answers":
        from benchmarks.answers import answers

        try:
            return answers(200 if given.long else 20, given.beside, only=given.only)
        except KeyError as error:
            given.error(f"answers has no phase {error}")
    if part == "memory":
        from benchmarks.memory import memory

        return memory(given.long)
    if part == "others":
        from benchmarks.others import compare

        return compare(given.seconds)
    if part == "profile":
        from benchmarks.profile import profile

        return profile(given.seconds)
    given.error(f"no part {part!r}; there are {', '.join(PARTS)}")
    raise SystemExit(2)


def _gpu(given: argparse.Namespace) -> Findings:
    from benchmarks.gpu import gpu
    from photonsim.results import ResultError

    try:
        return gpu(given.seconds, given.long)
    except ResultError as error:
        sys.exit(f"error: {error}")


def _save(path: Path, facts: dict[str, Any], found: Sequence[Findings]) -> None:
    text = {
        "machine": facts,
        "claims": [
            {
                "label": c.label,
                "asked": c.asked,
                "measured": c.measured,
                "unit": c.unit,
                "met": c.met,
            }
            for findings in found
            for c in findings.claims
        ],
        "parts": {findings.title: findings.data for findings in found},
    }
    path.write_text(json.dumps(text, indent=1), encoding="utf-8")


if __name__ == "__main__":
    main()
