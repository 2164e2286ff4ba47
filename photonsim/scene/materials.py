"""Refractive index against wavelength of the materials that a scene can name."""

import math
from typing import Literal, get_args

MaterialName = Literal["acrylic", "borosilicate_crown", "polycarbonate"]
MATERIALS: tuple[str, ...] = get_args(MaterialName)

# Each material: pairs (B, C in µm²) of the Sellmeier formula n² - 1 = Σ B λ² / (λ² - C), λ in µm.
_SELLMEIER: dict[str, tuple[tuple[float, float], ...]] = {
    # PMMA at 20 °C, 0.4368 µm to 1.052 µm: fit, as carried by refractiveindex.info, to the indices
    # in N. Sultanova, S. Kasarova, I. Nikolov, "Dispersion properties of optical polymers", Acta
    # Physica Polonica A 116, 585 (2009), DOI 10.12693/APhysPolA.116.585 (accuracy 0.001).
    # The fit's Abbe number is 53.2 against the paper's 59.2: trust the index, not the dispersion.
    "acrylic": ((1.1819, 0.011313),),
    # Glass N-BK7 at 20 °C, 0.3 µm to 2.5 µm: the maker's catalogue, as carried by
    # refractiveindex.info.
    "borosilicate_crown": (
        (1.03961212, 0.00600069867),
        (0.231792344, 0.0200179144),
        (1.01046945, 103.560653),
    ),
    # PC: same paper, fit and range as acrylic; coefficients from memory, checked on the paper's
    # indices.
    "polycarbonate": ((1.4182, 0.021304),),
}


def index_at(material: MaterialName, wavelength_nm: float) -> float:
    """Refractive index of a named material at a vacuum wavelength in nanometres.

    Sellmeier formula; the sources of the coefficients stand beside them.
    """
    squared_um = (wavelength_nm * 1.0e-3) ** 2
    return math.sqrt(1.0 + sum(b * squared_um / (squared_um - c) for b, c in _SELLMEIER[material]))
