"""Refractive index against wavelength of the materials that a scene can name."""

import math
from typing import Literal, get_args

MaterialName = Literal[
    "acrylic",
    "borosilicate_crown",
    "dense_crown",
    "dense_flint",
    "flint",
    "polycarbonate",
    "polystyrene",
]
MATERIALS: tuple[str, ...] = get_args(MaterialName)
OR_MATERIAL = "or give a material, one of " + ", ".join(f'"{name}"' for name in MATERIALS)

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
    # Glasses N-SK4, SF2 and F2: coefficients from memory of the maker's catalogue; they give the
    # catalogue's n_d and V_d, 1.61272 and 58.63, 1.64769 and 33.85, 1.62004 and 36.37.
    "dense_crown": (
        (1.32993741, 0.00716874107),
        (0.228542996, 0.0246455892),
        (0.988465211, 100.886364),
    ),
    "dense_flint": (
        (1.40301821, 0.0105795466),
        (0.231767504, 0.0493226978),
        (0.939056586, 112.405955),
    ),
    "flint": (
        (1.34533359, 0.00997743871),
        (0.209073176, 0.0470450767),
        (0.937357162, 111.886764),
    ),
    # PC and PS: same paper, fit and range as acrylic; coefficients from memory, PC's checked on the
    # paper's indices.
    "polycarbonate": ((1.4182, 0.021304),),
    "polystyrene": ((1.4435, 0.020216),),
}


def index_at(material: MaterialName, wavelength_nm: float) -> float:
    """Refractive index of a named material at a vacuum wavelength in nanometres.

    Sellmeier formula; the sources of the coefficients stand beside them.
    """
    squared_um = (wavelength_nm * 1.0e-3) ** 2
    return math.sqrt(1.0 + sum(b * squared_um / (squared_um - c) for b, c in _SELLMEIER[material]))
