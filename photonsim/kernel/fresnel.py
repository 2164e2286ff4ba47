"""Fresnel's equations and Snell's law at a lossless dielectric face, for any polarisation."""

import math

from photonsim.kernel.compiler import jit
from photonsim.kernel.numbers import HALF, ONE, ZERO
from photonsim.kernel.polarisation import delayed, diattenuated, share


@jit
def reflectance(cos_in, eta):
    """Return (reflectance, cosine of the refracted angle).

    `cos_in` is the cosine of the angle of incidence (0..1), `eta` = index before / index behind.
    Rs = ((eta ci - ct)/(eta ci + ct))**2 and Rp = ((ci - eta ct)/(ci + eta ct))**2 (Hecht, Optics,
    section 4.6); unpolarised light gets their mean. Beyond the critical angle it returns (1, 0).
    Light without a state is unpolarised at each face that it meets: at one 45-degree facet of
    n = 1.586 the two polarisations differ by up to 20 % of the reflected part.
    """
    sine_squared = eta * eta * (ONE - cos_in * cos_in)
    if sine_squared >= ONE:
        return ONE, ZERO
    cos_out = math.sqrt(ONE - sine_squared)
    s_top, s_bottom = eta * cos_in - cos_out, eta * cos_in + cos_out
    p_top, p_bottom = cos_in - eta * cos_out, cos_in + eta * cos_out
    # One division instead of two: Rs + Rp over the common denominator.
    top = s_top * p_bottom
    other = p_top * s_bottom
    bottom = s_bottom * p_bottom
    return HALF * (top * top + other * other) / (bottom * bottom), cos_out


@jit
def meet(light, before, behind, ratio, number):
    """Return (reflected, light) at a face, for a random number in [0, 1); as `reflectance` says.

    `before` and `behind` are the cosines of incidence and refraction, each times the index on its
    side, and `ratio` = (index behind / index before)**2: then rs = (before - behind) / (before +
    behind) and rp = (ratio before - behind) / (ratio before + behind). No division: the number is
    multiplied by the common denominator instead. `light`, unless it is None, stands in the plane of
    incidence; the lot is drawn by its own reflectance, and it comes out renormalised. What passes
    has amplitudes in the ratio of 1 / (before + behind) and n / (ratio before + behind).
    """
    s_top, s_bottom = before - behind, before + behind
    p_top, p_bottom = ratio * before - behind, ratio * before + behind
    top = s_top * p_bottom
    other = p_top * s_bottom
    bottom = s_bottom * p_bottom
    if number * (bottom * bottom) < share(light, top * top, other * other):
        return True, diattenuated(light, top * top, other * other, top * other)
    s_on, p_on = p_bottom, math.sqrt(ratio) * s_bottom
    return False, diattenuated(light, s_on * s_on, p_on * p_on, s_on * p_on)


@jit
def meet_beyond_critical(light, before, squared, ratio):
    """Return light after total reflection: rs rp* = z**2 / |z|**2, a delay of p against s.

    `before` and `ratio` are as in `meet`, and `squared` is minus the square of `behind`: that is
    i kappa, and z = ratio before**2 + kappa**2 + i kappa before (1 - ratio).
    """
    if light is None:
        return light
    real = ratio * before * before + squared
    imaginary = math.sqrt(squared) * before * (ONE - ratio)
    per = ONE / (real * real + imaginary * imaginary)
    cosine = (real * real - imaginary * imaginary) * per
    return delayed(light, cosine, (real + real) * imaginary * per)


@jit
def amplitudes(cos_in, eta):
    """Return (rs, rp) of the two polarisations; both 1 at grazing incidence on nothing.

    Arguments and formulas as in `reflectance`, for parts that keep the two apart; only for faces
    where `eta` <= 1, so that nothing is reflected totally.
    """
    sine_squared = eta * eta * (ONE - cos_in * cos_in)
    if sine_squared >= ONE:
        return ONE, ONE
    cos_out = math.sqrt(ONE - sine_squared)
    s_wave = (eta * cos_in - cos_out) / (eta * cos_in + cos_out)
    p_wave = (cos_in - eta * cos_out) / (cos_in + eta * cos_out)
    return s_wave, p_wave
