"""Commands: arguments and exit codes; what they do stands in the other rooms.
Many files lie flat here: one file for each command, by its name.

Exit codes: 0 done; 1 nothing found that was asked for (`tune`), or whoever read the output is gone;
2 something to mend in what was given, or no room or right to write; 130 or 143 asked to end by
Ctrl-C or by the system, what was saved stands.
"""

import click

from photonsim.cli.check import check
from photonsim.cli.compare import compare
from photonsim.cli.cut import cut
from photonsim.cli.figures import figures
from photonsim.cli.fit import fit
from photonsim.cli.keys import keys
from photonsim.cli.lens import lens
from photonsim.cli.live import live
from photonsim.cli.preview import preview
from photonsim.cli.race import race
from photonsim.cli.replay import replay
from photonsim.cli.report import report
from photonsim.cli.supply import supply
from photonsim.cli.sweep import sweep
from photonsim.cli.tolerance import tolerance
from photonsim.cli.trace import trace
from photonsim.cli.tune import tune
from photonsim.version import __version__


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="photonsim")
def main() -> None:
    """Trace the lamp of a home-built projector before you cut it.

    Describe a lamp in a text file, trace photons from its emitters to the aperture stop, and read
    off how much light gets there, how even the picture will be and where the rest went.

    \b
    Example, from scene file to pictures:
      photonsim check scenes/d_split_film.toml
      photonsim trace scenes/d_split_film.toml --out lamp
      photonsim figures lamp/d_split_film.h5 --out lamp
    """


for command in (
    check,
    trace,
    compare,
    figures,
    preview,
    report,
    replay,
    supply,
    cut,
    fit,
    lens,
    live,
    keys,
    sweep,
    race,
    tune,
    tolerance,
):
    main.add_command(command)
