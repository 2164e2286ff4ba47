"""Stokes vectors of many rays, by field vectors in space: nothing of the kernel's way to turn them.

Each state [n, 3] is Q, U, V over I in the level frame of its ray [n, 3]: s along z x k, p = k x s.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Reals = NDArray[np.float64]
NUDGE = 2.0**-60


def level_frames(rays: ArrayLike) -> tuple[Reals, Reals]:
    """Return the axes (s, p) [n, 3]; straight along z, s is that of a ray that leans towards +x."""
    k = np.atleast_2d(np.array(rays, dtype=float))
    k[np.hypot(k[:, 0], k[:, 1]) == 0.0, 0] = NUDGE
    s = np.cross([0.0, 0.0, 1.0], k)
    s /= np.linalg.norm(s, axis=1)[:, None]
    return s, np.cross(k, s)


def linear(rays: ArrayLike, field: ArrayLike) -> Reals:
    """Return the states of light whose field lies along vectors [n, 3] or [3] across its rays."""
    s, p = level_frames(rays)
    field = np.broadcast_to(np.asarray(field, dtype=float), s.shape)
    along_s, along_p = (s * field).sum(axis=1), (p * field).sum(axis=1)
    total = along_s**2 + along_p**2
    states = np.stack([along_s**2 - along_p**2, 2.0 * along_s * along_p, 0.0 * total], axis=1)
    return states / total[:, None]


def behind_sheet(rays: ArrayLike, blocks: ArrayLike) -> Reals:
    """Return the states of light behind an ideal polariser that blocks an axis: along k x c."""
    return linear(rays, np.cross(np.asarray(rays, dtype=float), blocks))


def through_sheet(rays: ArrayLike, states: ArrayLike, blocks: ArrayLike) -> Reals:
    """Return the share [n] of each ray that an ideal polariser in air passes."""
    return 0.5 + 0.5 * (behind_sheet(rays, blocks) * np.asarray(states)).sum(axis=1)


def natural(rays: ArrayLike) -> Reals:
    """Return the states of unpolarised light."""
    return np.zeros(np.shape(rays))
