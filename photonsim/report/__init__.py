"""The write-up: results and studies as one page to publish, and as Markdown to paste."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import photonsim.report.sections as about
import photonsim.report.workshop as workshop
from photonsim.figures.saving import figure_bytes
from photonsim.report.content import Section, WriteUp
from photonsim.report.html import as_html
from photonsim.report.markdown import as_markdown
from photonsim.results import LightPath, Result, ResultError
from photonsim.results.files.study_table import StudyTable
from photonsim.results.files.writing import write_file
from photonsim.studies import Design, compare

FIGURE_FOLDER = "report-figures"
# Some 1,400 pixels across: sharp on a phone and on paper, and half the bytes of 300.
DOTS_PER_INCH = 200


def compose(
    results: Sequence[tuple[str, Result, Sequence[LightPath]]],
    studies: Sequence[StudyTable] = (),
    title: str = "",
) -> WriteUp:
    """Return the write-up of results, given as (label, result, light paths), and of studies.

    Supply and cutting are shown for the design that collects most light. Raises ResultError
    without any result.
    """
    if not results:
        raise ResultError("there is no result to report; name a result file or a scene")
    named = [(label, result) for label, result, _ in results]
    comparison = compare([Design(*item) for item in named])
    best = comparison.designs[0]
    found: list[Section | None] = [about.job(named)]
    if len(named) > 1:
        found.append(about.side_by_side(comparison))
    found += [
        about.design(label, result, paths, f"design-{number}")
        for number, (label, result, paths) in enumerate(results, 1)
    ]
    found += [workshop.study(table, f"study-{number}") for number, table in enumerate(studies, 1)]
    found += [
        workshop.picture(named),
        workshop.supply(best.label, best.result),
        workshop.cutting(best.label, best.result),
        about.cautions(),
        about.assumptions(),
        about.reproduction(named),
    ]
    photons = sum(result.photons for _, result in named)
    subtitle = f"{len(named)} design{'s' * (len(named) > 1)}, {photons:,} photons traced"
    shared = named[0][0] if len(named) == 1 else comparison.title
    heading = title or shared or "Lamps for a home-built projector"
    return WriteUp(heading, subtitle, tuple(section for section in found if section is not None))


def save_write_up(write_up: WriteUp, folder: Path, stem: str = "report") -> list[Path]:
    """Write stem.html, which needs nothing else, and stem.md with its figures in a folder beside.

    Raises ResultError where that cannot be done.
    """
    pictures = {
        picture: figure_bytes(picture.figure, picture.form, DOTS_PER_INCH)
        for picture in write_up.pictures()
    }
    by_name = {picture.name: content for picture, content in pictures.items()}
    files = {
        folder / f"{stem}.html": as_html(write_up, by_name).encode(),
        folder / f"{stem}.md": as_markdown(write_up, FIGURE_FOLDER).encode(),
    }
    for picture, content in pictures.items():
        files[folder / FIGURE_FOLDER / f"{picture.name}.{picture.form}"] = content
    for path, content in files.items():
        write_file(path, content)
    return list(files)
