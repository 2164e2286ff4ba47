"""The one table that a study makes: a row for every design, columns with units and errors."""

from __future__ import annotations

from dataclasses import dataclass, field

from numpy.typing import NDArray

from photonsim.arrays import Reals
from photonsim.words.escaping import csv_text

PARAMETER, FIGURE, FACT = "parameter", "figure", "fact"


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
