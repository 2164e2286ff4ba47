"""A map with its axes and units, for plotting and for other libraries."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from photonsim.arrays import Reals
from photonsim.results.errors import ResultError
from photonsim.words.notebook import grey_picture

if TYPE_CHECKING:
    import xarray


@dataclass(frozen=True, eq=False)
class LabelledArray:
    """Values [rows, columns] in a unit, over the places of their rows and columns.

    `axes` gives the places by name, those of the rows first: `y_mm` and `x_mm`, in millimetres;
    row 0 lies lowest. numpy takes it for its values. `to_xarray` gives an array of that library.

    >>> import photonsim
    >>> scene = photonsim.load_scene("scenes/d_split_film.toml")
    >>> light = photonsim.trace(scene, photons=1e5).map("incident", blocks=12)
    >>> light.unit, light.values.shape, light.axes["x_mm"][:2]
    ('lx', (7, 12), array([-43.56, -35.64]))
    """

    name: str
    unit: str
    values: Reals
    axes: Mapping[str, Reals]

    @property
    def shape(self) -> tuple[int, ...]:
        """The numbers of rows and columns."""
        return self.values.shape

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> np.ndarray:
        return np.array(self.values, dtype) if copy else np.asarray(self.values, dtype)

    def to_xarray(self) -> xarray.DataArray:
        """Return it as an xarray.DataArray. Raises ResultError where xarray is not installed."""
        try:
            import xarray
        except ImportError:
            raise ResultError("this needs xarray; install it with pip install xarray") from None
        places = {axis: (axis, at, {"units": "mm"}) for axis, at in self.axes.items()}
        return xarray.DataArray(
            self.values, places, tuple(self.axes), name=self.name, attrs={"units": self.unit}
        )

    def __repr__(self) -> str:
        lines = [f"{self.name}, {self.unit}: {' × '.join(map(str, self.shape))} values"]
        if np.isfinite(self.values).any():
            low, mean, high = (of(self.values) for of in (np.nanmin, np.nanmean, np.nanmax))
            lines.append(f"  from {low:.4g} to {high:.4g}, mean {mean:.4g}")
        lines += [f"  {axis} from {at[0]:.4g} to {at[-1]:.4g}" for axis, at in self.axes.items()]
        return "\n".join(lines)

    def _repr_html_(self) -> str:
        return grey_picture(self.values, repr(self))
