"""The arrays and counts that the rooms hand to each other, as types."""

from typing import SupportsIndex

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Counts = NDArray[np.int64]
Flags = NDArray[np.bool_]
# A whole number as people write it: 1000000, 1e6, one of numpy's.
Whole = float | SupportsIndex
