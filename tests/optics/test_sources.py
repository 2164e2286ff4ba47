"""Measured lobes in first-order optics: they must be bounded as the lobes that they sample."""

import numpy as np
import pytest

from photonsim.optics.facts import facts_of
from photonsim.optics.first_order import brightest_flux, recycled_luminance
from photonsim.optics.sources import sources_of
from photonsim.scene import Emitter
from photonsim.summary.scene_summary import scene_summary
from tests.scene.test_lm63 import file_of

FINE = np.arange(0.0, 90.25, 0.5)


def disc(**lobe):
    return Emitter(shape="disc", diameter_mm=20.0, flux_lm=500.0, **lobe)


def sampled(exponent):
    """A disc whose lobe is a table of cos^m."""
    return disc(lm63_text=file_of(FINE, [0.0], [1000.0 * np.cos(np.radians(FINE)) ** exponent]))


@pytest.mark.parametrize("exponent", [1.0, 3.0, 9.5])
@pytest.mark.parametrize("share", [0.02, 0.2, 0.7])
def test_table_of_a_power_of_the_cosine_is_bounded_like_it(exponent, share):
    """F [1 - (1 - G/(pi A))^((m+1)/2)]: the brightest part of a lobe cos^m."""
    etendue = share * np.pi * np.pi * 100.0
    expected = brightest_flux(sources_of(disc(cosine_power=exponent)), etendue)
    assert expected == pytest.approx(500.0 * (1.0 - (1.0 - share) ** ((exponent + 1.0) / 2.0)))
    assert brightest_flux(sources_of(sampled(exponent)), etendue) == pytest.approx(
        expected, rel=0.01
    )


def test_all_of_the_light_and_of_the_etendue_is_kept():
    sources = sources_of(sampled(2.0))
    assert sum(source.flux_lm for source in sources) == pytest.approx(500.0)
    assert sum(source.area_mm2 for source in sources) == pytest.approx(np.pi * 100.0)


def test_peak_luminance_of_a_table():
    formula = recycled_luminance([(source, 0.5) for source in sources_of(disc(cosine_power=3.0))])
    table = recycled_luminance([(source, 0.5) for source in sources_of(sampled(3.0))])
    assert table == pytest.approx(formula, rel=0.01)


def test_exponent_of_a_table_is_that_of_its_peak():
    """I0/F = (m + 1)/(2 pi) (identity)."""
    assert sampled(4.0).exponent == pytest.approx(4.0, abs=0.01)


def test_summary_tells_what_the_table_holds(lamp):
    cosine = np.cos(np.radians(FINE))
    changes = {
        "emitters.bars.lm63_text": file_of(FINE, [0.0], [10.0 * cosine], lumens=40.0),
        "emitters.bars.half_angle_deg": None,
    }
    scene = lamp(changes)
    summary = scene_summary(scene)
    assert "measured lobe" in summary
    assert "holds 31.4 lm" in summary
    assert "The file claims 40 lm for its lamp, so 78.5 % get out." in " ".join(summary.split())
    assert facts_of(scene).ceiling_lm == pytest.approx(facts_of(lamp()).ceiling_lm, rel=0.01)
    changes["emitters.bars.lm63_text"] = file_of(FINE, [0.0], [10.0 * cosine], lumens=20.0)
    assert "more than there is" in " ".join(scene_summary(lamp(changes)).split())
    changes["emitters.bars.lm63_text"] = file_of(FINE, [0.0], [10.0 * cosine])
    assert "claims no lumens" in " ".join(scene_summary(lamp(changes)).split())
