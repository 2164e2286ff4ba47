"""Configuration factors between surfaces, from published formulas.

J. R. Howell, A Catalog of Radiation Heat Transfer Configuration Factors (thermalradiation.net);
each function names its entry and how it is known (check-values section 3).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray


def aligned_rectangles(a: float, b: float, c: float) -> float:
    """C-11: equal rectangles a x b face to face at distance c. Published."""
    x, y = a / c, b / c
    x1, y1 = 1 + x * x, 1 + y * y
    logarithm = 0.5 * np.log(x1 * y1 / (x1 + y1 - 1))
    across = x * np.sqrt(y1) * np.arctan(x / np.sqrt(y1)) - x * np.arctan(x)
    up = y * np.sqrt(x1) * np.arctan(y / np.sqrt(x1)) - y * np.arctan(y)
    return float(2 / (np.pi * x * y) * (logarithm + across + up))


def coaxial_discs(r1: float, r2: float, h: float) -> float:
    """C-41: from a disc r1 to a disc r2 on one axis at distance h. From memory, recomputed."""
    s = 1 + (h * h + r2 * r2) / (r1 * r1)
    return float(0.5 * (s - np.sqrt(s * s - 4 * (r2 / r1) ** 2)))


def element_to_disc(r: float, h: float, offset: ArrayLike) -> NDArray[np.float64]:
    """Element parallel to a disc r at height h, `offset` from its axis (Foote, 1915).

    P. Foote, Bull. Bur. Stand. 12, 583 (1915), as in W. J. Smith, Modern Optical Engineering, 4th
    edition, p. 262. From memory, recomputed.
    """
    beside = np.asarray(offset, dtype=float) ** 2
    square = h * h + beside
    return 0.5 * (1 - (square - r * r) / np.sqrt((square + r * r) ** 2 - 4 * r * r * beside))


def element_to_corner(a: ArrayLike, b: ArrayLike, c: float) -> NDArray[np.float64]:
    """Element under one corner of a parallel rectangle a x b at height c; odd in a and in b.

    From memory, recomputed. Offset rectangles follow by adding and subtracting corners.
    """
    x, y = np.asarray(a, dtype=float) / c, np.asarray(b, dtype=float) / c
    x1, y1 = np.sqrt(1 + x * x), np.sqrt(1 + y * y)
    return (x / x1 * np.arctan(y / x1) + y / y1 * np.arctan(x / y1)) / (2 * np.pi)


def element_to_cells(
    edges_x: NDArray[np.float64], edges_y: NDArray[np.float64], c: float
) -> NDArray[np.float64]:
    """From an element at the origin to the cells of a grid at height c, [rows, columns]."""
    corners = element_to_corner(edges_x[None, :], edges_y[:, None], c)
    return np.diff(np.diff(corners, axis=0), axis=1)


def element_to_polygon(
    place: NDArray[np.float64], normal: NDArray[np.float64], corners: NDArray[np.float64]
) -> NDArray[np.float64]:
    """From elements at `place` [..., 3] to polygons `corners` [..., k, 3] wholly before them.

    Lambert's formula (Photometria, 1760; Howell, section on contour integration: from memory): a
    sum over edges of the angle an edge subtends times the normal's component along the unit vector
    at right angles to both of its ends, over 2 pi. Corners in the order that makes it positive.
    """
    arms = corners - place[..., None, :]
    arms = arms / np.linalg.norm(arms, axis=-1, keepdims=True)
    nexts = np.roll(arms, -1, axis=-2)
    cross = np.cross(arms, nexts)
    sine = np.linalg.norm(cross, axis=-1)
    angle = np.arctan2(sine, (arms * nexts).sum(axis=-1))
    weight = np.where(sine > 0, angle / np.where(sine > 0, sine, 1), 0)
    return np.abs((weight * (cross * normal[..., None, :]).sum(axis=-1)).sum(axis=-1)) / (2 * np.pi)
