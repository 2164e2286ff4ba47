"""The command `replay`."""

from __future__ import annotations

from pathlib import Path

import click

from photonsim.cli.mistakes import mistakes_printed
from photonsim.cli.output import print_text
from photonsim.cli.reading import read_result
from photonsim.version import __version__


@click.command()
@click.argument("result", metavar="RESULT")
@click.argument("history", type=click.IntRange(0, 10**14), metavar="HISTORY")
def replay(result: str, history: int) -> None:
    """Walk one photon of a result again, and print its path.

    HISTORY is its number. The path is the one that the run traced; the numbers of histories that
    were given up, if any, are listed below it. NUMBA_DISABLE_JIT=1 in the environment walks it with
    the compiler off.

    \b
    Example:
      photonsim replay lamp/d_split_film.h5 1234
    """
    from photonsim.engine import sample_paths
    from photonsim.results import ResultError

    with mistakes_printed():
        loaded = read_result(Path(result))
        if history >= loaded.photons:
            raise ResultError(
                f"{result}: has no history {history:,}; those it holds are 0 to "
                f"{loaded.photons - 1:,}"
            )
        made_by = loaded.run.program_version or "of unknown version"
        if made_by != __version__:
            print_text(
                f"the result was made by photonsim {made_by}; this is what {__version__} "
                "traces by this seed and number, which may be another path",
                err=True,
            )
        guide = loaded.tallies.guide
        path = sample_paths(loaded.scene, 1, loaded.seed, history, guide=guide)[0]
        click.echo(f"{loaded.name}, seed {loaded.seed}, history {history}")
        click.echo(f"{'x / mm':>14}{'y / mm':>14}{'z / mm':>14}")
        for x, y, z in path.points:
            click.echo(f"{x:14.6f}{y:14.6f}{z:14.6f}")
        met = len(path.points) - 1
        click.echo(f"{path.fate}, after {met} surface{'s' * (met != 1)}")
        if loaded.tallies.lost:
            lost = ", ".join(map(str, loaded.tallies.lost))
            click.echo(f"histories given up in this result, the first of them: {lost}")
