"""Kill runs at random moments: `python -m tests.kills --times 100 --requests 200`.

One result file is traced with a save every 0.1 s by process after process, each ended by SIGKILL.
After every kill the file is readable and holds no less than before; at the end the sum of all the
pieces has the bits of one undisturbed run.

Then processes are asked to end by SIGTERM or SIGINT at any moment from their first import to their
last write, half of them with --fresh, some while they draw. Each ends with a documented exit code
and without a traceback, no temporary file is left, and the good file stays or gives way to a better
one.
"""

from __future__ import annotations

import collections
import random
import signal
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import click

from photonsim.engine import trace
from photonsim.results import Result, load_result
from tests.same_bits import assert_same_bits
from tests.shipped import SCENES, scene

SEED = 11
# A program with entries of its own, whose light counts 0, 1 or 2 where it is collected.
POLARISED = Path(__file__).parent / "scene" / "polarised.toml"
# Start-up, the loading of what is there, tracing and dozens of saves all get their kills.
LATEST_KILL_S = 2.0
# A save every 0.1 s, a round of 0.3 s and a save itself, on a machine with other work to do.
OLDEST_SAVE_S = 3.0
# Longer than a command takes, on a machine with other work to do.
LATEST_REQUEST_S = 4.0


@click.command()
@click.option("--times", default=100, show_default=True, help="How often to kill.")
@click.option("--requests", default=200, show_default=True, help="How often to ask to end.")
def main(times: int, requests: int) -> None:
    """Kill, look at the file, go on; tell what was lost."""
    for how, count in ((killed, times), (asked_to_end, requests)):
        if count:
            with tempfile.TemporaryDirectory() as folder:
                click.echo(how(count, Path(folder)))


def killed(times: int, folder: Path) -> str:
    """Kill `times` times and return the figures; raises AssertionError where something is lost."""
    luck, target = random.Random(SEED), folder / f"{SCENES[0].stem}.h5"
    command = [sys.executable, "-m", "photonsim", "trace", str(SCENES[0]), "--seed", str(SEED)]
    command += ["--out", str(folder), "--threads", "1"]
    long = [*command, "--photons", "1e12", "--save-every", "0.1"]
    photons, ages, gained = 0, [], 0
    for _ in range(times):
        running = subprocess.Popen(long, stderr=subprocess.DEVNULL)
        first, early = _stamp(target), photons > 0 and luck.random() < 0.2
        # One in five is killed on its way to its first save, the others after it.
        while _stamp(target) == first and not early:
            assert running.poll() is None, "the run ended by itself"
            time.sleep(0.02)
        time.sleep(luck.uniform(0.0, LATEST_KILL_S))
        running.kill()
        if not early:
            ages.append(time.time() - target.stat().st_mtime)
        running.wait()
        found = load_result(target)
        assert found.photons >= photons, f"{found.photons} after {photons} photons"
        gained += found.photons > photons
        photons = found.photons
        assert found.run.status == "partial"
    assert max(ages) < OLDEST_SAVE_S, f"the last save was {max(ages):.1f} s old"
    total = photons + 5_000
    subprocess.run([*command, "--photons", str(total)], check=True, capture_output=True)
    resumed: Result = load_result(target)
    assert_same_bits(resumed, trace(scene("a"), photons=total, seed=SEED))
    left = sorted(path.name for path in folder.iterdir() if path.name.endswith(".part"))
    assert not left, left
    return (
        f"{times} kills: the file was readable every time and had grown {gained} times; the last "
        f"save was {statistics.median(ages):.2f} s old (median; {max(ages):.2f} s at most); "
        f"{total:,} photons in {times + 1} pieces have the bits of one run"
    )


def asked_to_end(times: int, folder: Path, first: int = SEED) -> str:
    """Ask `times` commands to end and return the figures; raises AssertionError on any harm."""
    luck, target = random.Random(first), folder / f"{POLARISED.stem}.h5"
    program = [sys.executable, "-m", "photonsim"]
    run = [*program, "trace", str(POLARISED), "--seed", str(SEED), "--out", str(folder)]
    subprocess.run([*run, "--photons", "102_400"], check=True, capture_output=True)
    photons, endings = 102_400, collections.Counter[int]()
    for number in range(times):
        command = [*run, "--photons", str(photons + luck.randrange(1, 3_000_000))]
        command += ["--save-every", "0.1", *(["--fresh"] if luck.random() < 0.5 else [])]
        if luck.random() < 0.2:
            command = [*program, "figures", str(target), "--out", str(folder), "--format", "svg"]
        request = luck.choice((signal.SIGTERM, signal.SIGINT))
        running = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE)
        time.sleep(luck.uniform(0.0, LATEST_REQUEST_S))
        running.send_signal(request)
        told = running.communicate()[1].decode()
        endings[running.returncode] += 1
        place = f"{number}, {' '.join(command[3:])}: {running.returncode}, {told}"
        # Before its first line the interpreter itself ends by the signal.
        assert running.returncode in (0, 128 + request, -request), place
        assert "Traceback" not in told or running.returncode == -request, place
        found = load_result(target)
        assert found.photons >= photons, f"{found.photons} after {photons} photons; {place}"
        photons = found.photons
        assert not list(folder.rglob("*.part")), place
    listed = ", ".join(f"{count} with {code}" for code, count in sorted(endings.items()))
    return f"{times} requests to end: the file was good every time; exit codes {listed}"


def _stamp(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except FileNotFoundError:
        return 0


if __name__ == "__main__":
    main()
