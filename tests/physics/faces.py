"""What a face of the kernel reflects, read off from its own choices."""

import math

from photonsim.kernel.fresnel import meet


def reflectance(cos_in, eta):
    """Return the share of unpolarised light that `meet` reflects, by halving what it decides on.

    `cos_in` is the cosine of incidence, `eta` = index before / index behind, not beyond the
    critical angle.
    """
    cos_out = math.sqrt(max(0.0, 1.0 - eta * eta * (1.0 - cos_in * cos_in)))
    low, high = 0.0, 1.0
    for _ in range(52):
        middle = 0.5 * (low + high)
        reflected, _ = meet(None, eta * cos_in, cos_out, 1.0 / (eta * eta), middle)
        low, high = (middle, high) if reflected else (low, middle)
    return 0.5 * (low + high)
