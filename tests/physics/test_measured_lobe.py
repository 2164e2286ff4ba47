"""Directions drawn from an LM-63 table against the table's own integrals."""

import numpy as np
import pytest

from photonsim.engine import trace
from photonsim.kernel import codes
from photonsim.kernel.emitters import emit
from photonsim.kernel.entry import jit_entry
from photonsim.kernel.random import start
from photonsim.program import build_program
from photonsim.program.emission import alias_table, cells_of
from photonsim.scene import load_scene, parse_scene
from photonsim.scene.lm63 import read_lm63, zone_flux
from tests.chance import assert_distribution, assert_mean
from tests.scene.test_lm63 import MEASURED, file_of

COUNT = 400_000
LAMP = load_scene(MEASURED / "oval_lamp.toml")
VERTICAL = np.arange(0.0, 90.5, 2.5)


@jit_entry
def fill(program, seed, points):
    """Write the directions of the first photons of a program, [count, 3]."""
    for number in range(points.shape[0]):
        history = np.uint64(number)
        _, _, _, u, v, w, _ = emit(program, seed, history, start(seed, history))
        points[number, 0], points[number, 1], points[number, 2] = u, v, w


def drawn(table_text, turn_deg=0.0):
    lamp = LAMP.emitters["lamp"].model_copy(
        update={"lm63_text": table_text, "lm63_turn_deg": turn_deg}
    )
    points = np.empty((COUNT, 3))
    fill(build_program(LAMP.model_copy(update={"emitters": {"lamp": lamp}})), np.uint64(5), points)
    assert np.abs((points**2).sum(axis=1) - 1.0).max() < 1e-12
    return points.T


def fine_shares(table, polar, azimuth):
    """Share of the flux between polar and azimuth edges, by a fine grid of the file's planes.

    LM-63 counts planes against the azimuth here: plane C lies at azimuth -C.
    """
    flux = zone_flux(polar, azimuth, table.at(polar, azimuth))[::-1]
    return flux / flux.sum()


@pytest.mark.parametrize("lobe", ["symmetric", "lopsided", "shipped"])
def test_directions_follow_the_table(lobe):
    cosine = np.cos(np.radians(VERTICAL))
    if lobe == "symmetric":
        text = file_of(VERTICAL, [0.0], [cosine**3])
    elif lobe == "lopsided":
        planes = np.arange(0.0, 361.0, 30.0)
        text = file_of(
            VERTICAL,
            planes,
            [
                (cosine**2)
                * (1.0 + 0.5 * np.cos(np.radians(plane)) + 0.3 * np.sin(np.radians(plane)))
                for plane in planes
            ],
        )
    else:
        text = LAMP.emitters["lamp"].lm63_text
    u, v, w = drawn(text)
    polar, azimuth = np.arange(0.0, 91.0, 7.5), np.arange(0.0, 361.0, 1.0)
    shares = fine_shares(read_lm63(text), np.arange(0.0, 90.05, 0.25), azimuth)
    shares = shares.reshape(24, 15, 12, 30).sum(axis=(1, 3))
    counts, _, _ = np.histogram2d(
        np.degrees(np.arctan2(v, u)) % 360.0,
        np.degrees(np.arccos(w)),
        bins=[azimuth[::15], polar],
    )
    assert_distribution(counts, shares, what=f"directions of the {lobe} lobe")


def test_lambertian_table_is_lambertian():
    """I = cos t: the first two cosines fill the unit disc evenly (identity).

    The lines between samples every 2.5° take 1.6e-4 off at most, far below what 16 zones show.
    """
    u, v, w = drawn(file_of(VERTICAL, [0.0], [np.cos(np.radians(VERTICAL))]))
    counts, _ = np.histogram(u * u + v * v, bins=16, range=(0.0, 1.0))
    assert_distribution(counts, np.full(16, 1 / 16), what="squared radius")
    assert_mean(w.reshape(40, -1).mean(axis=1), 2.0 / 3.0, what="mean cosine")


def test_plane_of_0_turns_from_x_towards_y():
    planes = np.arange(0.0, 361.0, 10.0)
    beam = [
        np.cos(np.radians(VERTICAL)) * (1.0 if plane in (0.0, 360.0) else 0.0) for plane in planes
    ]
    text = file_of(VERTICAL, planes, beam)
    for turn, x, y in ((0.0, 1.0, 0.0), (90.0, 0.0, 1.0), (-135.0, -(0.5**0.5), -(0.5**0.5))):
        u, v, _ = drawn(text, turn)
        assert np.hypot(u.mean(), v.mean()) > 0.3
        assert u.mean() / np.hypot(u.mean(), v.mean()) == pytest.approx(x, abs=0.01)
        assert v.mean() / np.hypot(u.mean(), v.mean()) == pytest.approx(y, abs=0.01)


def test_planes_are_counted_clockwise_as_seen_from_the_screen():
    """LM-63 counts type C planes counter-clockwise from above the luminaire, light going down.

    Whoever looks along the light sees them counter-clockwise; the screen looks against it.
    """
    planes = np.arange(0.0, 361.0, 10.0)
    text = file_of(VERTICAL, planes, [np.full(len(VERTICAL), float(p == 90.0)) for p in planes])
    u, v, _ = drawn(text)
    assert v.mean() < -0.3
    assert abs(u.mean()) < 0.01


def test_alias_table_gives_back_the_shares():
    cells = cells_of(LAMP.emitters["lamp"].intensity, 30.0)
    table = alias_table(cells)
    edges = len(cells.cosines) + len(cells.turns)
    count = cells.shares.size
    kept, alias = table[edges : edges + count], table[edges + count :].astype(int)
    found = (kept + np.bincount(alias, weights=1.0 - kept, minlength=count)) / count
    assert found == pytest.approx(cells.shares.ravel(), abs=1e-12)
    assert kept.min() >= 0.0
    assert kept.max() <= 1.0


def test_text_of_a_scene_is_enough_to_build_its_program():
    program = build_program(LAMP)
    assert program.emitter_real[0, codes.COSINE_ROOT] == 0.0
    assert np.array_equal(build_program(parse_scene(LAMP.text)).tables, program.tables)


def test_shipped_lamp_reaches_its_condenser_by_the_share_in_the_cone():
    """A 118 mm condenser 84 mm above a 20 mm disc takes in about what leaves within 35°.

    tan 35.1° = 59/84; the disc's width and the walls below the lens blur the rim, by less than 3 %.
    The lens absorbs 8 % of what it takes in, which is how the share is seen.
    """
    table = LAMP.emitters["lamp"].intensity
    expected = table.flux_within_lm(35.1) / table.flux_lm
    fates = {fate.name: fate.photons for fate in trace(LAMP, photons=100_000, seed=3).fates}
    reached = fates["absorbed by condenser_1"] / 0.08 / 100_000
    assert reached == pytest.approx(expected, rel=0.03)
