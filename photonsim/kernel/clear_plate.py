"""Clear plate: two parallel faces, all internal reflections summed without interference."""

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.fresnel import amplitudes
from photonsim.kernel.numbers import ONE
from photonsim.kernel.surface import meet_sheet


@jit
def series(face, kept):
    """Return (transmitted, reflected) shares of two faces of reflectance `face`.

    With the share `kept` (a) of one crossing, summing the internal reflections gives
    T = (1-r)**2 a / (1 - r**2 a**2) and R = r (1 + T a) (Hecht, Optics, section 4.6; for a = 1
    T = (1-r)/(1+r)).
    """
    through = (ONE - face) * (ONE - face) * kept / (ONE - face * face * kept * kept)
    return through, face * (ONE + through * kept)


@jit
def shares(cos_in, index, kept):
    """Return (transmitted, reflected) of a plate in air: each of s and p, and the factor of U, V.

    Parallel faces keep the two polarisations apart, so each has its own series. Taking their mean
    at each face instead would cost 0.6 % of Lambertian light at n = 1.5. For U and V rs rp, alike
    from both sides, plays the part of a reflectance. `kept` does not grow with the slant of the
    path.
    """
    s_wave, p_wave = amplitudes(cos_in, ONE / index)
    s_face, p_face, mixed = s_wave * s_wave, p_wave * p_wave, s_wave * p_wave
    s_through, s_back = series(s_face, kept)
    p_through, p_back = series(p_face, kept)
    through = (ONE - s_face) * (ONE - p_face) * kept / (ONE - mixed * mixed * kept * kept)
    back = mixed * (ONE + through * kept)
    return (s_through, p_through, through), (s_back, p_back, back)


@jit
def cross(program, layer, wavelength, photon):
    """Return (fate, photon) of one that meets the plate."""
    index = program.layer_index[layer, wavelength]
    on, back = shares(abs(photon.w), index, program.layer_real[layer, codes.PLATE_KEPT])
    return meet_sheet(layer, photon, on, back)
