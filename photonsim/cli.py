"""Commands: arguments and exit codes; what they do stands in the other rooms.

Exit codes: 0 done, 2 something to mend in what was given, 130 or 143 interrupted with all saved.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from photonsim import __version__

if TYPE_CHECKING:
    from photonsim.results import Result
    from photonsim.scene import Scene

USER_MISTAKE = 2


class PhotonCount(click.ParamType):
    """A whole number of photons, also written 2e6 or 2_000_000."""

    name = "photons"

    def convert(self, value: Any, param: Any, ctx: Any) -> int:
        """Return the count, or tell what is wrong with it."""
        try:
            number = float(str(value).replace("_", "").replace(",", ""))
        except ValueError:
            self.fail(f"{value!r} is not a number of photons; write 2000000 or 2e6")
        if not (1 <= number <= 1e14 and number == int(number)):
            self.fail(f"{value!r} must be a whole number from 1 to 1e14")
        return int(number)


def run_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """Add the options that say how long to trace and with what."""
    for option in reversed(
        [
            click.option("--photons", type=PhotonCount(), help="Photons a design [1e6]."),
            click.option("--seed", type=click.IntRange(0), default=1, show_default=True,
                         help="Seed of the random numbers."),
            click.option("--relative-error", type=click.FloatRange(0, 1, True, True),
                         help="Stop when the relative error of --figure is down to this."),
            click.option("--figure", default="collected_fraction", show_default=True,
                         help="The figure of merit that --relative-error speaks of."),
            click.option("--seconds", type=click.FloatRange(0, min_open=True),
                         help="Stop after this time."),
            click.option("--threads", type=click.IntRange(1, 1024), help="Threads [all]."),
        ]
    ):
        command = option(command)
    return command


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="photonsim")
def main() -> None:
    """Trace the lamp of a home-built projector before you cut it.

    Describe a lamp in a text file, trace photons from its emitters to the aperture stop, and read
    off how much light gets there, how even the picture will be and where the rest went.

    \b
    Example, from scene file to pictures:
      photonsim check scenes/d_split_film.toml
      photonsim trace scenes/d_split_film.toml --photons 2e6 --out lamp
      photonsim figures lamp/d_split_film.h5 --out lamp
    """


@main.command()
@click.argument("scenes", nargs=-1, required=True, metavar="SCENE...")
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the side view.")
def check(scenes: tuple[str, ...], out: Path | None) -> None:
    """Validate scenes, print first-order facts and draw the layout to scale.

    SCENE is a scene file, or a folder of them. All mistakes are told at once. The side view is
    drawn when --out names a folder.

    \b
    Example:
      photonsim check scenes/d_split_film.toml --out layout
    """
    with told_plainly():
        for path, scene in read_scenes(scenes):
            from photonsim.bench import scene_brief

            click.echo(scene_brief(scene))
            if out is not None:
                from photonsim.figures import draw_side_view, save_figure

                tell_files(save_figure(draw_side_view(scene, []), out, f"{path.stem}-layout"))


@main.command()
@click.argument("scenes", nargs=-1, required=True, metavar="SCENE...")
@run_options
@click.option("--out", type=click.Path(path_type=Path), default=Path("."), show_default=True,
              help="Folder for the result files, named after the scenes.")
@click.option("--fresh", is_flag=True, help="Start anew where a result is there already.")
def trace(scenes: tuple[str, ...], out: Path, fresh: bool, **rule: Any) -> None:
    """Trace scenes and save a result file for each.

    SCENE is a scene file, or a folder of them. A result that is there already, partial or
    complete, is continued to the larger count: the outcome is that of one long run. Ctrl-C ends a
    run with what it has, saved.

    \b
    Example:
      photonsim trace scenes/d_split_film.toml --relative-error 0.002 --out lamp
    """
    with told_plainly():
        for path, scene in read_scenes(scenes):
            result = traced(path, scene, out, fresh, rule)
            tell_result(result)


@main.command()
@click.argument("designs", nargs=-1, required=True, metavar="SCENE_OR_RESULT...")
@run_options
@click.option("--against", type=click.Choice(["first", "best"]), default="first",
              show_default=True, help="The design that differences are taken to.")
@click.option("--out", type=click.Path(path_type=Path),
              help="Folder for results, tables (CSV, Markdown) and figures.")
@click.option("--fresh", is_flag=True, help="Start anew where a result is there already.")
def compare(
    designs: tuple[str, ...], against: str, out: Path | None, fresh: bool, **rule: Any
) -> None:
    """Put designs side by side, ranked by collected lumens, with honest errors.

    Scenes are traced with shared random numbers, so that differences are surer than the figures
    themselves; result files are taken as they are. A folder stands for the scenes in it.

    \b
    Example:
      photonsim compare scenes --photons 2e6 --out first-look
    """
    from photonsim.studies import Design, compare, tables

    with told_plainly():
        found: dict[str, Result] = {}
        for path, scene_or_result in read_designs(designs):
            if hasattr(scene_or_result, "tallies"):
                result = scene_or_result
            else:
                result = traced(path, scene_or_result, out, fresh, rule)
            found[unused_label(result.scene.title or path.stem, path, found)] = result
        comparison = compare([Design(*item) for item in found.items()], against)
        click.echo(tables.as_text(comparison))
        if out is not None:
            from photonsim.figures import draw_comparison

            write_text(out / "comparison.csv", tables.as_csv(comparison))
            write_text(out / "comparison.md", tables.as_markdown(comparison))
            tell_files([out / "comparison.csv", out / "comparison.md"])
            tell_files(draw_comparison(comparison.results, out, "comparison"))
            for path, label in zip(all_files(designs), found, strict=True):
                draw(found[label], out, path.stem)


@main.command()
@click.argument("results", nargs=-1, required=True, metavar="RESULT...")
@click.option("--out", type=click.Path(path_type=Path), default=Path("."), show_default=True,
              help="Folder for the pictures.")
@click.option("--paths", type=click.IntRange(0, 5000), default=120, show_default=True,
              help="Light paths in the side view.")
@click.option("--form", "forms", multiple=True, type=click.Choice(["png", "svg"]),
              default=("png", "svg"), show_default=True, help="Kind of picture file.")
def figures(results: tuple[str, ...], out: Path, paths: int, forms: tuple[str, ...]) -> None:
    """Draw the figures of result files: maps, spread, intensity, ledger, profile, side view.

    \b
    Example:
      photonsim figures lamp/d_split_film.h5 --out lamp --form svg
    """
    from photonsim.results import load_result

    with told_plainly():
        loaded = [(Path(name), load_result(name)) for name in results]
        for path, result in loaded:
            draw(result, out, path.stem, paths, forms)


@contextmanager
def told_plainly() -> Iterator[None]:
    """Turn what a person can mend into a message and exit code 2."""
    from photonsim.results import ResultError
    from photonsim.scene import SceneError

    try:
        yield
    except (ResultError, SceneError) as error:
        click.echo(str(error), err=True)
        sys.exit(USER_MISTAKE)
    except KeyboardInterrupt:
        click.echo("broken off; the last saved state stands", err=True)
        sys.exit(130)


def all_files(names: Sequence[str]) -> list[Path]:
    """Return the files that arguments stand for: a folder stands for its scene files."""
    from photonsim.results import ResultError

    files: list[Path] = []
    for path in map(Path, names):
        inside = sorted(path.glob("*.toml")) if path.is_dir() else [path]
        if not inside:
            raise ResultError(f"{path}: there are no scene files (*.toml) in this folder")
        files += inside
    return files


def read_scenes(names: Sequence[str]) -> list[tuple[Path, Scene]]:
    """Return the scenes of files and folders; the mistakes of all of them are told at once."""
    return [(path, scene) for path, scene in read_designs(names, results=False)]


def read_designs(names: Sequence[str], results: bool = True) -> list[tuple[Path, Any]]:
    """Return the scenes and results that arguments stand for, told apart by their first bytes."""
    from photonsim.scene import SceneError, load_scene

    read: list[tuple[Path, Any]] = []
    mistaken: list[SceneError] = []
    for path in all_files(names):
        if results and is_hdf5(path):
            from photonsim.results import load_result

            read.append((path, load_result(path)))
            continue
        try:
            read.append((path, load_scene(path)))
        except SceneError as error:
            mistaken.append(error)
    for error in mistaken:
        click.echo(str(error), err=True)
    if mistaken:
        sys.exit(USER_MISTAKE)
    return read


def is_hdf5(path: Path) -> bool:
    """Tell whether a file begins as every HDF5 file does."""
    try:
        with path.open("rb") as file:
            return file.read(8) == b"\x89HDF\r\n\x1a\n"
    except OSError:
        return False


def traced(path: Path, scene: Scene, out: Path | None, fresh: bool, rule: dict[str, Any]) -> Any:
    """Trace a scene into out/<name>.h5, continuing what is there, and return the result."""
    from photonsim.engine import trace
    from photonsim.results import load_result, refuse_foreign

    target = None if out is None else out / f"{path.stem}.h5"
    earlier = None
    if target is not None and target.exists():
        refuse_foreign(target)
        earlier = None if fresh else load_result(target)
    result = trace(
        scene, **rule, resume=earlier, save_to=target, progress=sys.stderr.isatty()
    )
    if result.is_complete:
        return result
    where = "" if target is None else f"; saved to {target}, the same command goes on from there"
    click.echo(f"{result.run.stopped_by} after {result.photons:,} photons{where}", err=True)
    sys.exit(143 if "SIGTERM" in result.run.stopped_by else 130)


def tell_result(result: Result) -> None:
    """Print a result in a few lines."""
    from photonsim.engine import forecast
    from photonsim.results import FIGURES

    click.echo(f"{result.name}: {result.photons:,} photons, stopped by {result.run.stopped_by}")
    for name in ("collected_lm", "collected_fraction", "near_axis_fraction", "evenness",
                 "structure", "spread_deg"):
        figure = FIGURES[name]
        value = result.estimate(name).text(figure.scale, figure.unit)
        click.echo(f"  {figure.label:<20} {value}")
    for fate in result.fates:
        if fate.photons:
            share = 100.0 * fate.photons / result.photons
            click.echo(f"  {fate.name:<36} {fate.photons:>14,}  {share:6.2f} %")
    rate = result.photons / max(result.run.seconds["trace"], 1e-9)
    outlook = forecast(result.estimate("collected_fraction"), result.photons, rate)
    click.echo(f"  {rate / 1e6:.2f} million photons a second on {result.run.threads} threads; {outlook}")


def draw(
    result: Result, out: Path, stem: str, paths: int = 120, forms: Sequence[str] = ("png", "svg")
) -> None:
    """Draw every figure of a result and name the files."""
    from photonsim.engine import sample_paths
    from photonsim.figures import draw_all

    light = sample_paths(result.scene, paths, result.seed)
    tell_files(draw_all(result, light, out, stem, forms))


def unused_label(title: str, path: Path, used: dict[str, Any]) -> str:
    """Return a design's label: its title, with the file's name where two share a title."""
    label, number = title, 2
    while label in used:
        label = f"{title} ({path.stem})" if number == 2 else f"{title} ({path.stem}, {number})"
        number += 1
    return label


def write_text(path: Path, text: str) -> None:
    """Write a small text file, with a plain word where that cannot be done."""
    from photonsim.results import ResultError

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise ResultError(f"{path}: could not be written ({error.strerror})") from None


def tell_files(paths: Sequence[Path]) -> None:
    """Name the files that were written."""
    for path in paths:
        click.echo(f"wrote {path}", err=True)
