"""The arrays that the rooms hand to each other, as types."""

import numpy as np
from numpy.typing import NDArray

Reals = NDArray[np.float64]
Counts = NDArray[np.int64]
Flags = NDArray[np.bool_]
