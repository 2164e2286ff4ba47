"""Clear plate: two parallel faces, all internal reflections summed without interference."""

from photonsim.kernel import codes
from photonsim.kernel.compiler import jit
from photonsim.kernel.fresnel import reflectance
from photonsim.kernel.numbers import ONE
from photonsim.kernel.random import STEP, uniform


@jit
def shares(cos_in, index, kept):
    """Return (transmitted, reflected) shares of a plate in air.

    With face reflectance r and the share `kept` (a) of one crossing, summing the series gives
    T = (1-r)**2 a / (1 - r**2 a**2) and R = r (1 + T a) (Hecht, Optics, section 4.6; for a = 1
    T = (1-r)/(1+r)). `kept` does not grow with the slant of the path.
    """
    face, _ = reflectance(cos_in, ONE / index)
    through = (ONE - face) * (ONE - face) * kept / (ONE - face * face * kept * kept)
    return through, face * (ONE + through * kept)


@jit
def cross(program, layer, wavelength, u, v, w, rng):
    """Return (alive, u, v, w, rng) of a photon that meets the plate."""
    through, back = shares(
        abs(w), program.layer_index[layer, wavelength], program.layer_real[layer, codes.PLATE_KEPT]
    )
    rng = rng + STEP
    choice = uniform(rng)
    if choice < through:
        return True, u, v, w, rng
    if choice < through + back:
        return True, u, v, -w, rng
    return False, u, v, w, rng
