"""A light plate under sheets that polarise: what comes through the panel's own polariser.

TRACED: check-values-2.md, section 7, the last table, by an independent brute-force trace of case G
with ideal sheets in air, whose plate makes all light unpolarised. Ours keeps s and p at the plate's
faces; a sheet that does nothing but depolarise makes it the model of that page.
"""

import math

import numpy as np
import pytest
import tmm
from scipy import stats

from photonsim.scene import scene_from_dict
from photonsim.scene.writing import to_toml
from tests.chance import assert_mean
from tests.physics.plate_scenes import GRADED, MIRRORS, plate_scene
from tests.physics.polarised_rays import in_air
from tests.physics.tracing import trace

SIZES = [pytest.param(2**19), pytest.param(10_000_000, marks=pytest.mark.long)]
SHEET = {"thickness_mm": 0.0, "width_mm": 90.0, "height_mm": 50.0}
# Scatters by half a degree, which changes no figure here, and forgets all polarisation.
FORGETS = SHEET | {"kind": "diffuser", "z_mm": 5.0005, "half_angle_deg": 0.5}
FORGETS |= {"transmittance": 1.0, "reflectance": 0.0}
# The ridges parallel to the lit edge, and the axes across them.
FILM = SHEET | {"kind": "prism_film", "index": 1.586, "along_deg": 90.0, "z_mm": 5.001}
RECYCLER = SHEET | {"kind": "reflective_polariser", "z_mm": 5.002, "pass_deg": 0.0}
RECYCLER |= {"pass_transmittance": 1.0, "block_transmittance": 0.0}
RECYCLER |= {"pass_reflectance": 0.0, "block_reflectance": 1.0}
# Behind the panel's polariser, of all emitted: all, within 6.71° and within 20°; their errors.
STACKS = {
    "nothing": ({}, (0.3374, 0.00478, 0.0415), (0.0005, 0.00006, 0.0002)),
    "polariser": ({"recycler": RECYCLER}, (0.5996, 0.0083, 0.0721), (0.001, 0.00012, 0.0004)),
    "film": ({"film": FILM}, (0.3129, 0.00887, 0.0744), (0.0005, 0.00009, 0.0003)),
    "film and polariser": (
        {"film": FILM, "recycler": RECYCLER},
        (0.4979, 0.01317, 0.1107),
        (0.0009, 0.00015, 0.0004),
    ),
}


def behind_the_panel(parts, photons):
    """Return the shares [batch, 3] of all emitted behind the panel's ideal polariser."""
    z_mm = 5.003
    plain = plate_scene(GRADED | MIRRORS, parts=parts, depth_mm=z_mm)
    plain["train"]["panel"] |= {"polariser_deg": 0.0, "z_mm": z_mm}
    plain["train"]["stop"] |= {"z_mm": z_mm + 0.001, "diameter_mm": 1e5}
    traced = trace(to_toml(scene_from_dict(plain)), photons, as_if=in_air)
    polar = traced.batches["polar"][:, 1]
    six, seven, near = (math.sin(math.radians(angle)) ** 2 for angle in (6.0, 7.0, 6.71))
    # Rings of the polar tally are one degree wide; in one so near the axis the radiance is level.
    within = polar[:, :6].sum(axis=1) + polar[:, 6] * (near - six) / (seven - six)
    counts = np.stack([traced.batches["collected"], within, polar[:, :20].sum(axis=1)], axis=1)
    return 0.5 * counts / (traced.photons / len(polar))


@pytest.mark.parametrize("photons", SIZES)
@pytest.mark.parametrize("stack", STACKS)
def test_sheets_on_a_plate_that_depolarises(stack, photons):
    parts, shares, errors = STACKS[stack]
    found = behind_the_panel({"forgets": FORGETS} | parts, photons)
    for column, what in enumerate(("all", "within 6.71 degrees", "within 20 degrees")):
        known_to = errors[column]
        assert_mean(found[:, column], shares[column], known_to=known_to, what=f"{stack}, {what}")


@pytest.mark.parametrize("photons", SIZES)
def test_what_an_ideal_reflective_polariser_gains_over_a_plate(photons):
    # DERIVED there: 1/(1 - R/2) = 1.7775, of the plate's R = 0.8748 ± 0.0005 for Lambertian light.
    sheets = {"forgets": FORGETS}
    alone = behind_the_panel(sheets, photons)[:, 0]
    under = behind_the_panel(sheets | {"recycler": RECYCLER}, photons)[:, 0]
    mean = alone.mean()
    known_to = math.hypot(0.0008, 1.7775 * stats.sem(alone) / mean)
    assert_mean(under / mean, 1.7775, known_to=known_to, what="gain")


def test_a_plate_that_keeps_its_polarisation_is_brighter_behind_an_analyser():
    # DERIVED: what a dot sends out by the front is polarised radially, Tp over Ts. A sheet in air
    # that passes E along k × c takes half of light radial at the angle t, and tan²(t/2) of that
    # half more, averaged around the axis. So 2.3 % more here, where that page reckons with 1 %.
    # A tenth of it is allowed for light that comes out by way of several faces.
    angle = (np.arange(20_000) + 0.5) / 20_000 * 0.5 * math.pi
    inside = np.arcsin(np.sin(angle) / 1.49)
    pairs = list(zip(angle, inside, strict=True))
    s, p = (np.array([tmm.interface_R(state, 1.0, 1.49, a, b) for a, b in pairs]) for state in "sp")
    flux = np.sin(2.0 * angle)
    more = np.sum(0.5 * (s - p) * np.tan(0.5 * angle) ** 2 * flux)
    more /= np.sum((1.0 - 0.5 * (s + p)) * flux)
    assert more == pytest.approx(0.0227, abs=1e-4)
    found = behind_the_panel({}, 2**20)[:, 0]
    assert_mean(found, 0.5 * 0.6751 * (1.0 + more), known_to=0.5 * 0.6751 * 0.1 * more, what="kept")
