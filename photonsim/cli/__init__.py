"""Commands: arguments and exit codes; what they do stands in the other rooms.
Many files lie flat here: one file for each command, by its name.

Exit codes: 0 done; 1 nothing found that was asked for (`tune`), or whoever read the output is gone;
2 something to mend in what was given, or no room or right to write; 130 or 143 asked to end by
Ctrl-C or by the system, what was saved stands.
"""

from collections.abc import Iterator, Mapping
from importlib import import_module

import click

from photonsim.version import __version__

# Each is a function of its name in a file of its name.
NAMES = (
    "check",
    "compare",
    "cut",
    "figures",
    "fit",
    "keys",
    "lens",
    "live",
    "preview",
    "race",
    "replay",
    "report",
    "scenes",
    "supply",
    "sweep",
    "tolerance",
    "trace",
    "tune",
)


class Commands(Mapping[str, click.Command]):
    """The commands by their names, each imported when it is asked for."""

    def __getitem__(self, name: str) -> click.Command:
        """Return a command. Raises KeyError for another name."""
        if name not in NAMES:
            raise KeyError(name)
        command: click.Command = getattr(import_module(f"photonsim.cli.{name}"), name)
        return command

    def __iter__(self) -> Iterator[str]:
        """Go through the names."""
        return iter(NAMES)

    def __len__(self) -> int:
        """Return how many there are."""
        return len(NAMES)


@click.group(commands=Commands(), context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="photonsim")
def main() -> None:
    """Trace the lamp of a home-built projector before you cut it.

    Describe a lamp in a text file, trace photons from its emitters to the aperture stop, and read
    off how much light gets there, how even the picture will be and where the rest went.

    \b
    Example, from scene file to pictures:
      photonsim scenes --copy scenes
      photonsim check scenes/d_split_film.toml
      photonsim trace scenes/d_split_film.toml --out lamp
      photonsim figures lamp/d_split_film.h5 --out lamp
    """
