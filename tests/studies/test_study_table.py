"""The table of a study: HDF5 and back, opened by a general library, and drawn."""

import warnings
from pathlib import Path

import numpy as np
import pytest
import xarray

from photonsim.figures.study.draw import draw_study, study_figures
from photonsim.results import ResultError
from photonsim.results.files.study_table import FACT, FIGURE, PARAMETER, Column, StudyTable
from photonsim.results.files.table_file import load_table, save_table

RNG = np.random.default_rng(1)


def table(kind: str, parameters: int, rows: int = 12, **facts: float) -> StudyTable:
    """A table of made-up numbers; two parameters make a grid of 3 by rows / 3."""
    if parameters == 2:
        grid = np.array([(x, y) for x in range(3) for y in range(rows // 3)], float)
    else:
        grid = RNG.uniform(5, 20, (rows, parameters))
    columns = [
        Column(f"train.film.p{k}_mm", f"film p{k}", "mm", PARAMETER, grid[:, k])
        for k in range(parameters)
    ]
    light = grid.sum(axis=1) + RNG.normal(size=rows)
    light[0] = np.nan
    columns += [
        Column("collected_lm", "collected", "lm", FIGURE, light, np.full(rows, 0.1)),
        Column("structure", "lamp structure", "%", FIGURE, RNG.uniform(0, 9, rows)),
        Column("photons", "photons", "", FACT, np.arange(rows)),
        Column("remark", "remark", "", FACT, np.array(["too long é", *[""] * (rows - 1)])),
        Column("on_front", "on the front", "", FACT, np.arange(rows) % 2),
        Column("within_limits", "within limits", "", FACT, np.arange(rows) % 2),
    ]
    return StudyTable(kind, "A lamp", "title = 'é'", tuple(columns), dict(facts))


TABLES = [
    table("sweep", 1),
    table("sweep", 2),
    table("sweep", 4),
    table("front", 3, **{"goal collected_lm": 1.0, "goal structure": -1.0}),
    table("tune", 3, **{"goal collected_lm": 1.0, "sense": 1.0, "limit structure": 2.0}),
    table(
        "tolerance",
        2,
        **{"nominal collected_lm": 3.0, "least collected_lm": 2.0},
        **{"yield": 0.5, "yield low": 0.4, "yield high": 0.6},
        **{
            f"share{error} {figure} train.film.p{k}_mm": 0.3
            for error in ("", " error")
            for figure in ("collected_lm", "structure")
            for k in (0, 1)
        },
    ),
]


@pytest.mark.parametrize("found", TABLES, ids=lambda one: f"{one.kind}{len(one.columns)}")
def test_drawn_without_a_warning_and_twice_alike(found: StudyTable, tmp_path: Path) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        first = draw_study(found, tmp_path / "a", "study", ["svg"])
        second = draw_study(found, tmp_path / "b", "study", ["svg"])
    assert len(first) == len(study_figures(found)) > 0
    assert [path.read_bytes() for path in first] == [path.read_bytes() for path in second]


def test_nothing_but_impossible_designs_is_drawn_too() -> None:
    for kind, parameters in (("sweep", 1), ("sweep", 2), ("sweep", 3)):
        found = table(kind, parameters)
        found["collected_lm"].values[:] = np.nan
        found["structure"].values[:] = np.nan
        study_figures(found)


def test_file_and_back(tmp_path: Path) -> None:
    for found in TABLES:
        save_table(found, tmp_path / "table.h5")
        again = load_table(tmp_path / "table.h5")
        assert again.as_csv() == found.as_csv()
        assert again.facts == found.facts
        assert (again.kind, again.title, again.scene) == (found.kind, found.title, found.scene)
        assert again.program_version == found.program_version


def test_a_general_library_opens_it(tmp_path: Path) -> None:
    save_table(TABLES[0], tmp_path / "table.h5")
    column = xarray.open_dataset(
        tmp_path / "table.h5", group="columns/collected_lm", engine="h5netcdf", phony_dims="sort"
    )
    assert np.array_equal(column["value"], TABLES[0]["collected_lm"].values, equal_nan=True)
    assert column["value"].attrs["units"] == "lm"


def test_other_files_are_refused(tmp_path: Path) -> None:
    file = tmp_path / "table.h5"
    with pytest.raises(ResultError, match="no such file"):
        load_table(file)
    file.write_bytes(b"nothing of the kind")
    with pytest.raises(ResultError, match="not a photonsim study table"):
        load_table(file)


def test_csv_has_units_and_errors() -> None:
    head = TABLES[0].as_csv().splitlines()[0]
    assert head.startswith("train.film.p0_mm [mm],collected_lm [lm],collected_lm error [lm],")
