"""A picture as the audience would see it: blur by field, uniformity, distortion, room light."""

from __future__ import annotations

import math

import numpy as np
from scipy.fft import irfft2, next_fast_len, rfft2
from scipy.ndimage import gaussian_filter, map_coordinates, zoom

from photonsim.arrays import Reals
from photonsim.results import Result, ScreenView, screen_of
from photonsim.results.merit import COLLECTED
from photonsim.results.panel import weights

# Wider pictures are made smaller first: 81 fields are blurred one by one.
MOST_COLUMNS = 960
# Photons under the windows that smooth the map of light: grain of some 2 % on the map, hardly seen,
# and of 3 % on its profiles if that takes no window wider than 3 % of the picture, which would hide
# the lamp's own pattern.
MAP_PHOTONS, PROFILE_PHOTONS = 2500.0, 1000.0
NARROWEST, WIDEST = 0.015, 0.03


def to_linear(srgb: Reals) -> Reals:
    """Return light, 0 to 1, for sRGB values (IEC 61966-2-1)."""
    return np.where(srgb <= 0.04045, srgb / 12.92, ((srgb + 0.055) / 1.055) ** 2.4)


def to_srgb(light: Reals) -> Reals:
    """Return sRGB values for light, both 0 to 1, clipped (IEC 61966-2-1)."""
    light = np.clip(light, 0.0, 1.0)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1.0 / 2.4) - 0.055)


def seen(result: Result, picture: Reals) -> Reals:
    """Return the luminance of the screen in cd/m², [rows, columns, 3] linear, row 0 at the top.

    `picture` [any rows, any columns, 3] holds sRGB values from 0 to 1 and is fitted to the panel's
    shape. A white picture of a perfect lamp would have the mean luminance everywhere. Raises
    ResultError where the scene has no screen.
    """
    view = screen_of(result)
    rows, columns = _size(result)
    grey = bool((picture == picture[:, :, :1]).all())
    shown = picture[:, :, :1] if grey else picture
    light = np.clip(_resized(to_linear(shown), rows, columns), 0.0, None)
    panel, screen = result.scene.panel, result.scene.screen
    assert screen is not None
    black = 1.0 / panel.contrast if panel.contrast else 0.0
    light = (black + (1.0 - black) * light)[_as_watched(view)]
    light = light * _uniformity(result, rows, columns)[:, :, None]
    light = _blurred(view, light)
    light = _distorted(view, light)
    stray = float(np.nan_to_num(result.estimate("stray_share").value))
    light = ((1.0 - stray) * light + stray * light.mean(axis=(0, 1)))[_as_watched(view)]
    light = (light * view.mean_lux.value + screen.room_lux) * screen.gain / math.pi
    return np.repeat(light, 3, axis=2) if grey else light


def _as_watched(view: ScreenView) -> tuple[slice, slice]:
    """Return what lays a picture as it is watched onto the panel as seen from the screen, or back.

    A place (x, y) of the panel lands at M (x, y), M below 0 for a real image; each flat mirror
    swaps left and right, and an audience on the projector's side has x on its left (Hecht, Optics,
    sections 5.2 and 5.4).
    """
    screen = view.result.scene.screen
    assert screen is not None
    up = 1 if view.projection.magnification > 0.0 else -1
    mirrored = (screen.watched_from == "front") + screen.mirrors
    return slice(None, None, up), slice(None, None, up * (-1) ** mirrored)


def _size(result: Result) -> tuple[int, int]:
    panel = result.scene.panel
    columns = min(panel.columns, MOST_COLUMNS)
    return max(9, round(columns * panel.active_height_mm / panel.active_width_mm)), columns


def _resized(picture: Reals, rows: int, columns: int) -> Reals:
    if picture.shape[:2] == (rows, columns):
        return picture
    scale = (rows / picture.shape[0], columns / picture.shape[1])
    if min(scale) < 1.0:  # so that fine lines turn grey and do not alias
        blur = [max(0.0, 0.5 / s - 0.5) for s in scale]
        picture = gaussian_filter(picture, (*blur, 0.0))
    return zoom(picture, (*scale, 1.0), order=1)[:rows, :columns]


def _uniformity(result: Result, rows: int, columns: int) -> Reals:
    """Return light over its mean [rows, columns], row 0 at the top, with the photons' grain off.

    A lamp's pattern lies mostly along the axes: the two profiles, which few photons tell well, take
    a narrow window, and only what their product misses takes a wide one.
    """
    counts = result.panel_counts("collected")[::-1] / weights.of_all(result.tallies, COLLECTED)
    total = counts.sum()
    if total == 0.0:
        return np.zeros((rows, columns))
    upright, level = (_profile(counts.sum(axis=axis)) for axis in (1, 0))
    sigma = math.sqrt(MAP_PHOTONS / (4.0 * math.pi * total / counts.size))
    sigma = min(sigma, 0.2 * min(counts.shape))
    wide = gaussian_filter(counts, sigma, mode="nearest")
    # The window of their product is the product of their windows.
    over = [
        profile / np.maximum(gaussian_filter(profile, sigma, mode="nearest"), 1e-9)
        for profile in (upright, level)
    ]
    smooth = wide * np.outer(*over)
    found = _resized(smooth[:, :, None], rows, columns)[:, :, 0]
    return found / found.mean()


def _profile(counts: Reals) -> Reals:
    """Return counts [n] over their mean, smoothed by a normal window of PROFILE_PHOTONS.

    Such a window of width s holds 2 sqrt(pi) s of bins.
    """
    sigma = PROFILE_PHOTONS / (2.0 * math.sqrt(math.pi) * counts.mean())
    sigma = float(np.clip(sigma, NARROWEST * len(counts), WIDEST * len(counts)))
    return gaussian_filter(counts, sigma, mode="nearest") / counts.mean()


def _blurred(view: ScreenView, light: Reals) -> Reals:
    """Return the picture with each field's spot, mixed evenly between the middles of fields."""
    rows, columns = light.shape[:2]
    down, across = _hats(rows, 9)[::-1], _hats(columns, 9)
    mean_weights = view.mean_weights
    out = np.zeros_like(light)
    for i in range(9):
        top, bottom = np.flatnonzero(down[i])[[0, -1]]
        for j in range(9):
            left, right = np.flatnonzero(across[j])[[0, -1]]
            kernel = _kernel(view, i, j, mean_weights[i, j], columns)
            reach = len(kernel) // 2
            here = slice(top, bottom + 1), slice(left, right + 1)
            share = np.outer(down[i, here[0]], across[j, here[1]])
            # Light is spread from where it comes, so that none is lost between fields.
            piece = light[here] * share[:, :, None]
            _add(out, _convolved(piece, kernel), top - reach, left - reach)
    return np.maximum(out, 0.0)


def _convolved(piece: Reals, kernel: Reals) -> Reals:
    """Return a piece [rows, columns, n] spread by a kernel [k, k]: [rows + k - 1, ..., n].

    By Fourier transforms.
    """
    rows, columns = (a + b - 1 for a, b in zip(piece.shape[:2], kernel.shape, strict=True))
    fast = (next_fast_len(rows, real=True), next_fast_len(columns, real=True))
    product = rfft2(piece, fast, axes=(0, 1)) * rfft2(kernel, fast)[:, :, None]
    return np.asarray(irfft2(product, fast, axes=(0, 1))[:rows, :columns])


def _add(out: Reals, piece: Reals, top: int, left: int) -> None:
    rows, columns = out.shape[:2]
    first_row, first_column = max(0, -top), max(0, -left)
    last_row, last_column = min(piece.shape[0], rows - top), min(piece.shape[1], columns - left)
    out[top + first_row : top + last_row, left + first_column : left + last_column] += piece[
        first_row:last_row, first_column:last_column
    ]


def _hats(length: int, count: int) -> Reals:
    """Return [count, length] linear weights of fields along an axis; they add up to 1."""
    place = np.clip((np.arange(length) + 0.5) / length * count - 0.5, 0.0, count - 1.0)
    return np.maximum(0.0, 1.0 - np.abs(place[None, :] - np.arange(count)[:, None]))


def _kernel(view: ScreenView, i: int, j: int, weight: float, columns: int) -> Reals:
    """Return a field's spot on the picture's grid [2 r + 1, 2 r + 1], row 0 at the top, sum 1.

    `weight` is the mean of its photons'. Few photons leave grain: each is spread by a normal kernel
    as wide as n**(-1/6) of the spot and the whole drawn together again, so that its width stays
    (Silverman, Density Estimation, 1986).
    """
    x, y, light = view.spot(i, j)
    lit = np.flatnonzero(light)
    x, y, light = x.take(lit), y.take(lit), light.take(lit)
    total = light.sum()
    if total < 1.0:
        return np.ones((1, 1))
    pixel = view.result.optics.width_mm / columns
    mean_x, mean_y = (light * x).sum() / total, (light * y).sum() / total
    sigma = math.sqrt(0.5 * (light * ((x - mean_x) ** 2 + (y - mean_y) ** 2)).sum() / total)
    width = (total / weight) ** (-1.0 / 6.0)
    shrink = 1.0 / math.sqrt(1.0 + width * width)
    x, y = mean_x + (x - mean_x) * shrink, mean_y + (y - mean_y) * shrink
    reach = math.ceil((np.hypot(x, y).max() + 3.0 * sigma * width) / pixel) + 1
    size = 2 * reach + 1
    # Bilinear: a photon between pixels is shared by its neighbours. y is up, rows go down.
    at = [reach - y / pixel, reach + x / pixel]
    kernel = np.zeros(size * size)
    low = [np.floor(a).astype(int) for a in at]
    for row in (0, 1):
        for column in (0, 1):
            share = np.abs(1 - row - (at[0] - low[0])) * np.abs(1 - column - (at[1] - low[1]))
            places = (low[0] + row) * size + low[1] + column
            kernel += np.bincount(places, share * light, size * size)
    kernel = kernel.reshape(size, size)
    kernel = gaussian_filter(kernel, sigma * width * shrink / pixel, mode="constant")
    return kernel / kernel.sum()


def _distorted(view: ScreenView, light: Reals) -> Reals:
    """Return the picture moved to where chief rays land, thinner where it is drawn out."""
    rows, columns = light.shape[:2]
    pixel = view.result.optics.width_mm / columns
    y, x = (np.mgrid[:rows, :columns] + 0.5) * pixel
    x, y = x - 0.5 * columns * pixel, y - 0.5 * rows * pixel
    terms = view.result.run.landing["place"]
    stretch = np.polynomial.polynomial.polyval(x * x + y * y, terms)
    source = [
        (y / stretch / pixel) + 0.5 * rows - 0.5,
        (x / stretch / pixel) + 0.5 * columns - 0.5,
    ]
    moved = [map_coordinates(light[:, :, k], source, order=1) for k in range(light.shape[2])]
    # Within bounds: where a picture folds over itself, area says nothing.
    thinner = np.clip(view.growth_of_area((x * x + y * y) / stretch**2), 0.2, 5.0)
    return np.stack(moved, axis=-1) / thinner[:, :, None]
