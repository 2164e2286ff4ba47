"""Tables for pandas."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from photonsim.results.errors import ResultError

if TYPE_CHECKING:
    import pandas


def data_frame(columns: Mapping[str, Any], index: str = "") -> pandas.DataFrame:
    """Return columns as a pandas.DataFrame, one of them as its index where it is named.

    Raises ResultError where pandas is not installed.
    """
    try:
        import pandas
    except ImportError:
        raise ResultError("this needs pandas; install it with pip install pandas") from None
    table = pandas.DataFrame(columns)
    return table.set_index(index) if index else table
