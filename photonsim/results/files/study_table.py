"""The one table that a study makes: a row for every design, columns with units and errors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from photonsim.arrays import Reals
from photonsim.results.errors import ResultError
from photonsim.results.estimate import Estimate
from photonsim.results.figure_names import figure_named
from photonsim.results.labelled.frame import data_frame
from photonsim.words.escaping import csv_text
from photonsim.words.notebook import html_table
from photonsim.words.text import aligned

if TYPE_CHECKING:
    import pandas

PARAMETER, FIGURE, FACT = "parameter", "figure", "fact"
# Rows and columns of each kind that a few lines have room for.
MOST_SHOWN, MOST_COLUMNS, MOST_LINES = 5, 2, 9


@dataclass(frozen=True)
class Column:
    """A column: `values` [rows], numbers in `unit` or words, and standard errors if it has any.

    `role` says whether it was chosen ('parameter'), found ('figure') or belongs to the run
    ('fact').
    """

    name: str
    label: str
    unit: str
    role: str
    values: NDArray
    errors: Reals | None = None

    @property
    def heading(self) -> str:
        """Label and unit, for an axis or a table's head."""
        return f"{self.label}, {self.unit}" if self.unit else self.label

    def texts(self) -> list[str]:
        """Return the values as they are printed, with their errors."""
        if self.has_words:
            return list(map(str, self.values))
        if self.errors is None:
            return [f"{value:,}" if self.role == FACT else f"{value:g}" for value in self.values]
        pairs = zip(self.values, self.errors, strict=True)
        return [Estimate(float(value), float(error)).text() for value, error in pairs]

    @property
    def has_words(self) -> bool:
        """Whether the values are words."""
        return self.values.dtype.kind not in "fiu"


@dataclass(frozen=True)
class StudyTable:
    """The table of a study.

    `kind` is sweep, tune, front, tolerance or race; `scene` is the text of the scene it began with;
    `facts` are further numbers of the study as a whole, such as limits, by name; `program_version`
    is that of the program whose file it was read from, empty where it did not say (0.3.0).
    """

    kind: str
    title: str
    scene: str
    columns: tuple[Column, ...]
    facts: dict[str, float] = field(default_factory=dict)
    program_version: str = ""

    def __len__(self) -> int:
        return len(self.columns[0].values) if self.columns else 0

    def __getitem__(self, name: str) -> Column:
        """Return a column by name. Raises KeyError."""
        found = next((column for column in self.columns if column.name == name), None)
        if found is None:
            raise KeyError(name)
        return found

    def __repr__(self) -> str:
        """Tell the first few designs, with the first of their numbers and figures."""
        figures = self.with_role(FIGURE)[:MOST_COLUMNS]
        shown = self.with_role(PARAMETER)[:MOST_COLUMNS] or list(self.columns[:1])
        rows = self._rows([*shown, *figures])[: MOST_SHOWN + 1]
        words = [place for place, column in enumerate(shown) if column.has_words]
        # Long headings take several lines.
        lines = aligned(rows, words, ruled=True).splitlines()[:MOST_LINES]
        rest = len(self) - len(rows) + 1
        return "\n".join([self._told, *lines, *([f"and {rest:,} more"] if rest > 0 else [])])

    def _repr_html_(self) -> str:
        return html_table(self._rows(self.columns), self._told)

    @property
    def _told(self) -> str:
        return f"{self.kind}, {len(self)} designs: {self.title or 'untitled'}"

    def _rows(self, columns: Sequence[Column]) -> list[list[str]]:
        """Return columns as rows of words, the headings first."""
        listed = [[column.heading, *column.texts()] for column in columns]
        return [list(row) for row in zip(*listed, strict=True)]

    def to_pandas(self) -> pandas.DataFrame:
        """Return the table, a row for each design; errors stand in columns of their own.

        Raises ResultError where pandas is not installed.
        """
        columns: dict[str, NDArray] = {}
        for column in self.columns:
            columns[column.name] = column.values
            if column.errors is not None:
                columns[f"{column.name} error"] = column.errors
        return data_frame(columns)

    def best(self, figure: str = "collected") -> dict[str, float]:
        """Return the numbers of the design that is best in a figure, by path: a scene's next ones.

        Luck may have chosen it: see `photonsim.answer`. Raises ResultError where no design has
        this figure, or where neither more nor less of it is better.

        >>> import photonsim
        >>> scene = photonsim.load_scene("scenes/d_split_film.toml")
        >>> table = photonsim.sweep(scene, {"train.film.z_mm": [14, 30]}, photons=1e5)
        >>> table.best("near-axis fraction")
        {'train.film.z_mm': 14.0}
        """
        wanted = figure_named(figure)
        signed = wanted.better * next(
            (column.values for column in self.columns if column.name == wanted.name), np.array([])
        )
        if not np.isfinite(signed).any():
            raise ResultError(f"no design has the figure {wanted.words}; ask for it in the study")
        if not wanted.better:
            raise ResultError(f"{wanted.words}: neither more nor less of it is better")
        k = int(np.nanargmax(signed))
        return {column.name: float(column.values[k]) for column in self.with_role(PARAMETER)}

    def with_role(self, role: str) -> list[Column]:
        """Return the columns of a role, in order."""
        return [column for column in self.columns if column.role == role]

    def as_csv(self) -> str:
        """Return the table as CSV in full digits: values and errors under headings with units."""
        heads: list[str] = []
        cells: list[list[object]] = []
        for column in self.columns:
            unit = f" [{column.unit}]" if column.unit else ""
            heads.append(column.name + unit)
            cells.append(column.values.tolist())
            if column.errors is not None:
                heads.append(f"{column.name} error{unit}")
                cells.append(column.errors.tolist())
        rows = [["" if cell != cell else cell for cell in row] for row in zip(*cells, strict=True)]
        return csv_text([heads, *rows])
