"""Kill a long run at random moments: `python -m tests.kills --times 100`.

One result file is traced with a save every 0.1 s by process after process, each ended by SIGKILL.
After every kill the file is readable and holds no less than before; at the end the sum of all the
pieces has the bits of one undisturbed run.
"""

from __future__ import annotations

import random
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
# Start-up, the loading of what is there, tracing and dozens of saves all get their kills.
LATEST_KILL_S = 2.0
# A save every 0.1 s, a round of 0.3 s and a save itself, on a machine with other work to do.
OLDEST_SAVE_S = 3.0


@click.command()
@click.option("--times", default=100, show_default=True, help="How often to kill.")
def main(times: int) -> None:
    """Kill, look at the file, go on; tell what was lost."""
    with tempfile.TemporaryDirectory() as folder:
        click.echo(killed(times, Path(folder)))


def killed(times: int, folder: Path) -> str:
    """Kill `times` times and return the figures; raises AssertionError where something is lost."""
    luck, target = random.Random(SEED), folder / f"{SCENES[0].stem}.h5"
    command = [sys.executable, "-m", "photonsim.cli", "trace", str(SCENES[0]), "--seed", str(SEED)]
    command += ["--out", str(folder), "--threads", "1"]
    long = [*command, "--photons", "1e13", "--save-every", "0.1"]
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


def _stamp(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except FileNotFoundError:
        return 0


if __name__ == "__main__":
    main()
