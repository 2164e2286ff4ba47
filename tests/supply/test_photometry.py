"""Lumens and watts against the CIE's table, the candela, and the black body."""

import numpy as np
import pytest

from photonsim.supply.photometry import (
    V_VALUES,
    blue_watts_per_lumen,
    blue_weight,
    efficacy_of_radiation,
    v_lambda,
)

# CIE 1924; Wyszecki and Stiles, Color Science, table I(3.3.1), as mirrored from HyperPhysics.
TABLE = {
    450: 0.0380, 460: 0.0600, 470: 0.09098, 480: 0.13902, 490: 0.20802, 500: 0.3230, 510: 0.5030,
    520: 0.7100, 530: 0.8620, 540: 0.9540, 550: 0.99495, 555: 1.0, 560: 0.9950, 570: 0.9520,
    580: 0.8700, 590: 0.7570, 600: 0.6310, 610: 0.5030, 620: 0.3810, 630: 0.2650, 640: 0.1750,
    650: 0.1070,
}  # fmt: skip


def black_body(nm, kelvin):
    """Planck's law in relative units; hc/k = 14.387769 mm K."""
    metre = np.asarray(nm, dtype=float) * 1e-9
    return metre**-5 / np.expm1(0.014387769 / (metre * kelvin))


def test_v_lambda_is_the_cie_s():
    assert v_lambda(list(TABLE)) == pytest.approx(list(TABLE.values()))
    assert v_lambda([379.0, 781.0]) == pytest.approx([0.0, 0.0])


def test_v_lambda_in_whole():
    """The mean of V over equal energy: its sum at 5 nm is 21.371327 (CIE 15, y-bar: from memory).

    The whole table was compared with that of the library colour-science 0.4 to all its digits.
    """
    assert sum(V_VALUES) == pytest.approx(21.371327, abs=1e-6)


@pytest.mark.parametrize(("nm", "lumens"), [(555, 683.0), (450, 25.954), (600, 430.973)])
def test_single_colours(nm, lumens):
    """683 lm/W at 555 nm by the candela's definition; the others by the same table."""
    narrow = [nm - 0.01, nm, nm + 0.01]
    assert efficacy_of_radiation(narrow, [0.0, 1.0, 0.0]) == pytest.approx(lumens, rel=1e-3)


def test_best_black_body():
    """A black body gives 95 lm/W at best, at some 6600 K (Wyszecki and Stiles: from memory)."""
    nm = np.concatenate([np.arange(100.0, 2000.0, 2.0), np.arange(2000.0, 60_000.0, 50.0)])
    efficacies = {t: efficacy_of_radiation(nm, black_body(nm, t)) for t in range(5000, 8001, 200)}
    best = max(efficacies, key=efficacies.get)
    assert efficacies[best] == pytest.approx(95.0, rel=0.01)
    assert best == pytest.approx(6600, abs=200)


def test_black_body_of_the_old_candela():
    """Freezing platinum, 2042 K, shines 60 cd/cm²: the candela until 1979.

    Its radiance is sigma T⁴/pi, so the efficacy is 6e5 pi / (sigma T⁴).
    """
    nm = np.concatenate([np.arange(200.0, 2000.0, 2.0), np.arange(2000.0, 200_000.0, 50.0)])
    expected = 6.0e5 * np.pi / (5.670374e-8 * 2042.0**4)
    assert efficacy_of_radiation(nm, black_body(nm, 2042.0)) == pytest.approx(expected, rel=0.01)


def test_blue_weight():
    """IEC 62471, table 4.2 (from memory): 1 at 435 and 440 nm, 0.1 at 400 and 500, 0.001 in red."""
    found = blue_weight([400.0, 435.0, 440.0, 450.0, 500.0, 550.0, 650.0, 750.0])
    assert found == pytest.approx([0.1, 1.0, 1.0, 0.94, 0.1, 0.01, 0.001, 0.0])


def test_blue_light_grows_with_colour_temperature():
    """About 0.3 mW/lm for lamps of 2700 K, 1 mW/lm at 6500 K (IEC TR 62778: from memory, rough)."""
    nm = np.arange(380.0, 781.0)
    warm, cool = (blue_watts_per_lumen(nm, black_body(nm, t)) for t in (2700.0, 6500.0))
    assert warm == pytest.approx(0.3e-3, rel=0.2)
    assert cool == pytest.approx(1.0e-3, rel=0.2)
