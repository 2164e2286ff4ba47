"""The write-up: results and studies as one page to publish, and as Markdown to paste."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import photonsim.report.computed as computed
import photonsim.report.sections as about
import photonsim.report.workshop as workshop
from photonsim.figures.saving import small_png
from photonsim.report.content import WriteUp
from photonsim.report.html import as_html
from photonsim.report.markdown import as_markdown
from photonsim.report.studies import studied
from photonsim.results import LightPath, Result, ResultError
from photonsim.results.files.study_table import StudyTable
from photonsim.results.files.writing import write_file
from photonsim.studies import Design, compare

FIGURE_FOLDER = "report-figures"
# Some 800 pixels across: as wide as the page, and sharp on a phone and on paper.
DOTS_PER_INCH = 160
# Through the stop: enough to show where light goes, few enough to see each.
PATHS_DRAWN = 30


def compose(
    results: Sequence[tuple[str, Result]],
    sample_paths: Callable[..., Sequence[LightPath]],
    studies: Sequence[StudyTable] = (),
    title: str = "",
) -> WriteUp:
    """Return the write-up of results, given as (label, result), and of studies.

    The design that collects most light is shown in full, with light that `sample_paths` of the
    engine traces; of the others a table and small maps. Raises ResultError without any result.
    """
    if not results:
        raise ResultError("there is no result to report; name a result file or a scene")
    comparison = compare([Design(*item) for item in results], against="best")
    best = comparison.designs[0]
    paths = sample_paths(best.result.scene, 0, best.result.seed, arriving=PATHS_DRAWN)
    found = (
        about.wanted(best),
        about.lamp(best, paths),
        about.figures(comparison),
        about.maps(best),
        about.picture(comparison),
        about.losses(comparison),
        studied(studies),
        workshop.build(best),
        computed.uncertain(comparison),
        computed.computed(comparison),
    )
    photons = sum(result.photons for _, result in results)
    subtitle = f"{len(results)} design{'s' * (len(results) > 1)}, {photons:,} photons traced"
    shared = best.label if len(results) == 1 else comparison.title
    heading = title or shared or "Lamps for a home-built projector"
    sections = tuple(section for section in found if section is not None)
    return WriteUp(heading, subtitle, about.answer(comparison), sections)


def save_write_up(write_up: WriteUp, folder: Path, stem: str = "report") -> list[Path]:
    """Write stem.html, which needs nothing else, and stem.md with its figures in a folder beside.

    Raises ResultError where that cannot be done.
    """
    pictures = {
        picture.name: small_png(picture.figure, DOTS_PER_INCH) for picture in write_up.pictures()
    }
    files = {
        folder / f"{stem}.html": as_html(write_up, pictures).encode(),
        folder / f"{stem}.md": as_markdown(write_up, FIGURE_FOLDER).encode(),
    }
    for picture in write_up.pictures(folded=False):
        files[folder / FIGURE_FOLDER / f"{picture.name}.png"] = pictures[picture.name]
    for path, content in files.items():
        write_file(path, content)
    return list(files)
