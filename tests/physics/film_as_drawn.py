"""A second, plain tracer of a prism film to compare with the kernel's, from first principles.

It walks the periodic outline as drawn, ridge after ridge in one set of coordinates, where the
kernel turns one triangle upside down. Half the pitch is the unit: apexes at even a, valleys at
odd a, the valleys' level is c = 0, the flat face c = -thickness. A thickness of 0 stands for one so
great that light comes back from the flat face at a random phase, as the kernel takes it. A flat
tip, a share of the pitch, cuts the ridges off at the level `top`. A base of another index, `base`,
is no face to be met: its two faces are summed beforehand.
"""

import math

import numba
import numpy as np

FLAT_FACE, FACET, NOTHING = range(3)


@numba.njit
def face_reflectance(cos_in, eta):
    """Return (R of unpolarised light, cosine behind the face): Fresnel and Snell."""
    behind = 1.0 - eta * eta * (1.0 - cos_in * cos_in)
    if behind <= 0.0:
        return 1.0, 0.0
    cos_out = math.sqrt(behind)
    s_wave = (eta * cos_in - cos_out) / (eta * cos_in + cos_out)
    p_wave = (cos_in - eta * cos_out) / (cos_in + eta * cos_out)
    return 0.5 * (s_wave * s_wave + p_wave * p_wave), cos_out


@numba.njit
def base_shares(cos_in, before, base, behind):
    """Return (share back, cosine behind) of two level faces, all reflections between them summed.

    R = r + (1 - r)**2 q/(1 - r q), with r of the first face and q of the second.
    """
    first, cosine = face_reflectance(cos_in, before / base)
    if first >= 1.0:
        return 1.0, 0.0
    second, cosine = face_reflectance(cosine, base / behind)
    return first + (1.0 - first) ** 2 * second / (1.0 - first * second), cosine


@numba.njit
def next_face(a, c, d_a, d_c, inside, height, top, thickness):
    """Return (face met, a, c, slope of the outline there), walking half-pitch by half-pitch.

    A flat tip is a facet without slope.
    """
    if not inside and c >= top and d_c > 0.0:
        return NOTHING, a, c, 0.0
    while True:
        cell = math.floor(a)
        if d_a < 0.0 and a == cell:
            cell -= 1
        to_edge = ((cell + 1 if d_a > 0.0 else cell) - a) / d_a
        slope = -height if cell % 2 == 0 else height
        level = height * (cell + 1 - a) if cell % 2 == 0 else height * (a - cell)
        closing = d_c - slope * d_a
        to_facet = np.inf
        if (inside and closing > 1e-15) or (not inside and closing < -1e-15):
            to_facet = max((level - c) / closing, 0.0)
            if c + to_facet * d_c > top:
                to_facet = np.inf
        to_level = np.inf
        if inside and d_c < 0.0:
            to_level = (-thickness - c) / d_c
        elif d_c > 0.0:
            to_level = (top - c) / d_c
        step = min(to_facet, to_level, to_edge)
        a, c = a + step * d_a, c + step * d_c
        if step == to_facet:
            return FACET, a, c, slope
        if step == to_level:
            if inside and d_c > 0.0:
                return FACET, a, top, 0.0
            return FLAT_FACE if inside else NOTHING, a, c, slope
        a = float(round(a))


@numba.njit
def trace_ray(d_a, d_b, d_c, index, height, tip, thickness, base):
    """Return the direction (d_a, d_b, d_c) in which a ray leaves the film."""
    top = height * (1.0 - tip)
    a, c, inside = 2.0 * np.random.rand(), top, False
    on_tip = d_c < 0.0 and (a < tip or a > 2.0 - tip)
    if d_c > 0.0:
        reflected, cos_out = base_shares(d_c, 1.0, base, index)
        if np.random.rand() < reflected:
            return d_a, d_b, -d_c
        d_a, d_b, d_c = d_a / index, d_b / index, cos_out
        c, inside = -thickness, True
    while True:
        if on_tip:
            face, slope, on_tip = FACET, 0.0, False
        else:
            face, a, c, slope = next_face(a, c, d_a, d_c, inside, height, top, thickness)
        if face == NOTHING:
            return d_a, d_b, d_c
        if face == FLAT_FACE:
            reflected, cos_out = base_shares(-d_c, index, base, 1.0)
            if np.random.rand() >= reflected:
                return d_a * index, d_b * index, -cos_out
            d_c, c = -d_c, -thickness
            if thickness == 0.0:
                a = 2.0 * np.random.rand()
            continue
        length = math.hypot(1.0, slope)
        n_a, n_c = -slope / length, 1.0 / length
        if not inside:
            n_a, n_c = -n_a, -n_c
        cos_in = d_a * n_a + d_c * n_c
        eta = index if inside else 1.0 / index
        reflected, cos_out = face_reflectance(cos_in, eta)
        if np.random.rand() < reflected:
            d_a, d_c = d_a - 2.0 * cos_in * n_a, d_c - 2.0 * cos_in * n_c
        else:
            bend = cos_out - eta * cos_in
            d_a, d_b, d_c = eta * d_a + bend * n_a, eta * d_b, eta * d_c + bend * n_c
            inside = not inside


@numba.njit
def trace_all(rays, index, height, tip, thickness, base, seed):
    """Replace every ray [n, 3] by what leaves the film; `base` is its index where it has no own."""
    np.random.seed(seed)
    for number in range(rays.shape[0]):
        a, b, c = trace_ray(
            rays[number, 0],
            rays[number, 1],
            rays[number, 2],
            index,
            height,
            tip,
            thickness,
            base,
        )
        rays[number, 0], rays[number, 1], rays[number, 2] = a, b, c
