"""Light plate: closed forms, cases traced by a program that shares nothing with this, laws.

Sources are sections 6 and 7 of the second page of check values: DERIVED there are closed forms from
first principles; TRACED an independent brute-force trace of 4e5 to 1e6 photons, whose errors count.
"""

import math

import numpy as np
import pytest
import tmm

from photonsim.kernel import codes, light_plate
from photonsim.kernel.entry import jit_entry
from photonsim.kernel.history import begin
from photonsim.kernel.photon import GOES_ON, Photon
from photonsim.kernel.random import start
from photonsim.program import build_program
from photonsim.scene import scene_from_dict
from photonsim.scene.writing import to_toml
from tests.chance import assert_distribution, assert_proportion, assert_same_distribution
from tests.physics.plate_scenes import GRADED, MIRRORS, PLATE, ROW, plate_scene
from tests.physics.tracing import trace

PHOTONS = 1 << 19
BARE = {"reflector": None, "dot_share": 0.0}
# Front, near, far, sides, dots, reflector of section 7, None where the table has no figure.
ROWS = {
    "A": ({"dot_share": 0.1}, (0.2134, 0.0490, 0.5610, 0.0598, 0.0255, 0.0009)),
    "B": ({"dot_share": 0.2}, (0.3456, 0.0477, 0.3901, 0.0827, 0.0416, 0.0015)),
    "D": ({"dot_share": 0.2} | MIRRORS, (0.5529, 0.2873, 0.0, 0.0, 0.0666, 0.0024)),
    "E": (
        {"dot_share": 0.2, "dot_reflectance": 1.0, "reflector": {"reflectance": 1.0}} | MIRRORS,
        (0.6140, 0.2955, 0.0, 0.0, 0.0, 0.0),
    ),
    "G": (GRADED | MIRRORS, (0.6759, 0.1472, 0.0, 0.0, 0.0835, 0.0026)),
    "K": ({}, (0.0, 0.0623, 0.8466, 0.0, 0.0, 0.0)),
}
# Output by fields of 10 mm from the lit end in 1e-4 of all that is emitted, and photons traced.
FIELDS = {
    "A": (4e5, (291, 272, 265, 248, 235, 222, 211, 199, 191)),
    "B": (4e5, (577, 524, 469, 409, 361, 325, 289, 262, 241)),
    "D": (1e6, (774, 724, 674, 629, 588, 560, 538, 526, 519)),
    "E": (4e5, (854, 799, 741, 699, 653, 627, 604, 586, 578)),
    "G": (1e6, (795, 785, 754, 726, 701, 683, 692, 742, 873)),
}


@jit_entry
def ends_of(program, seed, layer, photons, fates):
    """Follow photons [n, 6] through a plate until they leave it; fates [n] say what became of them.

    Those whose direction is 0 are born on their emitters instead.
    """
    for number in range(photons.shape[0]):
        x, y, z, u, v, w = photons[number]
        photon = Photon(x, y, z, u, v, w, start(seed, np.uint64(number)), None)
        met = layer
        if w == 0.0:
            _, met, photon, _ = begin(program, seed, np.uint64(number), None)
        fate, photon = light_plate.cross(program, met, 0, photon)
        fates[number] = fate
        x, y, z, u, v, w, _, _ = photon
        photons[number, 0], photons[number, 1], photons[number, 2] = x, y, z
        photons[number, 3], photons[number, 4], photons[number, 5] = u, v, w


def program_of(plain):
    scene = scene_from_dict(plain)
    program = build_program(scene)
    back = int(np.flatnonzero(program.layer_kind == codes.LIGHT_PLATE)[0])
    return program, back


def born(plate, photons=PHOTONS, seed=1, **more):
    """Return (how they end, photons at their end) of light from the emitters on the edges."""
    program, back = program_of(plate_scene(plate, **more))
    out, fates = np.zeros((photons, 6)), np.empty(photons, dtype=np.int64)
    ends_of(program, np.uint64(seed), back, out, fates)
    return how_of(fates, back), out


def how_of(fates, back):
    """Return fates as counted by codes.IN_PLATE and its neighbours, -1 for what goes on."""
    assert (fates != codes.FATE_GUARD).all()
    return np.where(fates == GOES_ON, -1, fates - codes.layer_fate(back, 0))


def from_above(plate, photons=PHOTONS, **more):
    """Return (how they end, photons) of Lambertian light that falls on all of the front."""
    program, back = program_of(plate_scene(plate, **more))
    luck = np.random.default_rng(3)
    radius, turn = np.sqrt(luck.random(photons)), 2.0 * np.pi * luck.random(photons)
    out = np.empty((photons, 6))
    out[:, 0] = (2.0 * luck.random(photons) - 1.0) * program.layer_half_x[back]
    out[:, 1] = (2.0 * luck.random(photons) - 1.0) * program.layer_half_y[back]
    out[:, 2] = program.layer_z[back + 1]
    out[:, 3], out[:, 4] = radius * np.cos(turn), radius * np.sin(turn)
    out[:, 5] = -np.sqrt(1.0 - radius**2)
    fates = np.empty(photons, dtype=np.int64)
    ends_of(program, np.uint64(5), back + 1, out, fates)
    return how_of(fates, back), out


def lambertian_grid(index, steps=400):
    """Return (kx, ky, kz, R) within the plate of Lambertian light that comes to an end, equal flux.

    R is Fresnel's reflectance by the package tmm, mean of s and p.
    """
    squared = (np.arange(steps) + 0.5) / steps
    turn = 2.0 * np.pi * (np.arange(steps) + 0.5) / steps
    faces = []
    for sine in np.sqrt(squared):
        angle = math.asin(sine)
        inside = math.asin(sine / index)
        faces.append(np.mean([tmm.interface_R(p, 1.0, index, angle, inside) for p in "sp"]))
    across = np.sqrt(squared)[:, None] / index
    kx = np.sqrt(1.0 - across**2) * np.ones(steps)
    return kx, across * np.cos(turn), across * np.sin(turn), np.array(faces)[:, None]


@pytest.mark.parametrize(("index", "far"), [(1.49, 0.847051), (1.5, 0.844556)])
def test_a_bare_block_passes_what_a_plate_of_its_ends_does(index, far):
    # DERIVED: large faces and sides hold all light that enters by an end (n >= sqrt 2), so the
    # block is a plate across the ends, <(1 - R)/(1 + R)> with the mean of s and p at each.
    how, _ = born(BARE | {"index": index})
    assert set(how) == {codes.AT_LIT_EDGE, codes.AT_OTHER_EDGES, codes.NOT_TAKEN_IN}
    assert_proportion((how == codes.AT_OTHER_EDGES).sum(), PHOTONS, far, known_to=5e-7)
    entered = {1.49: 0.909694, 1.5: 0.908222}[index]
    assert_proportion((how == codes.NOT_TAKEN_IN).sum(), PHOTONS, 1.0 - entered, known_to=5e-7)


def test_an_index_below_the_root_of_two_holds_less():
    how, _ = born(BARE | {"index": 1.40})
    assert (how == -1).any()


def test_a_block_that_absorbs_against_the_sum_of_its_passes():
    # DERIVED: each direction crosses the block to and fro, exp(-a L/kx) of it left at each pass.
    index, absorption, length = 1.49, 0.004, 90.0
    kx, _, _, face = lambertian_grid(index)
    kept = np.exp(-absorption * length / kx)
    series = (1.0 - face) ** 2 * kept / (1.0 - face**2 * kept**2)
    how, _ = born(BARE | {"absorption_per_mm": absorption})
    far, near = float(series.mean()), float((series * face * kept).mean())
    lost = 1.0 - float(face.mean()) - far - near
    for fate, share in (
        (codes.AT_OTHER_EDGES, far),
        (codes.AT_LIT_EDGE, near),
        (codes.IN_PLATE, lost),
    ):
        assert_proportion((how == fate).sum(), PHOTONS, share, known_to=1e-5)


def test_black_dots_take_light_hit_by_hit():
    # DERIVED: m hits leave (1 - q)**m; a ray of slope kz/kx hits the back m or m + 1 times on its
    # way, by where it starts. The mean of hits is n**2 (2 t - sin 2 t)/(2 pi T) a mm, sin t = 1/n.
    index, share = 1.49, 0.15
    kx, _, kz, face = lambertian_grid(index)
    hits = 90.0 * np.abs(kz) / (2.0 * 3.0 * kx)
    critical = math.asin(1.0 / index)
    per_mm = index**2 * (2.0 * critical - math.sin(2.0 * critical)) / (2.0 * math.pi * 3.0)
    assert float(hits.mean()) / 90.0 == pytest.approx(per_mm, rel=1e-4)
    # Section 6 has 0.056118 beside this formula, which gives 0.056113.
    assert per_mm == pytest.approx(0.056118, rel=2e-4)
    whole = np.floor(hits)
    left = (1.0 - share) ** whole * (1.0 - share * (hits - whole))
    taken = float(((1.0 - face) * (1.0 - left)).mean())
    black = {"dot_share": share, "dot_reflectance": 0.0, "edges": "white", "edge_reflectance": 0.0}
    # So wide that no light comes to the sides before it comes to the black far end.
    how, _ = born(black | {"height_mm": 500.0}, height_mm=500.0)
    assert_proportion((how == codes.AT_DOTS).sum(), PHOTONS, taken, known_to=1e-5)
    assert (how == codes.AT_LIT_EDGE).sum() == 0


@pytest.mark.parametrize(("index", "held"), [(1.49, 0.848351), (1.5, 0.851780)])
def test_contact_leaks_through_the_large_faces(index, held):
    # DERIVED: of light that starts Lambertian within the plate, 1 - (2 t - sin 2 t)/pi is held by
    # two large faces. The rod is so long that light near the critical angle gets out as well.
    # A trace of absorption ends what is held for ever.
    rod = BARE | {"index": index, "height_mm": 0.6, "thickness_mm": 0.6, "absorption_per_mm": 1e-4}
    row = ROW | {"width_mm": 0.6, "height_mm": 0.6, "coupling": "contact"}
    how, out = born(rod, groups=(row,), size=(90.0, 0.6))
    assert (how != codes.NOT_TAKEN_IN).all()
    assert_proportion((how == -1).sum(), PHOTONS, 1.0 - held, known_to=3e-4)
    # The sides let out as much: 1 - 2 (2 t - sin 2 t)/pi is held by both.
    sides = (how == codes.AT_OTHER_EDGES) & (out[:, 0] < 44.9)
    assert_proportion(sides.sum(), PHOTONS, 1.0 - held, known_to=3e-4)


@pytest.mark.parametrize("paint", [0.5, 0.9, 1.0])
def test_paint_on_the_back_of_a_plate(paint):
    # J. L. Saunderson, JOSA 32, 727 (1942), from memory: paint of reflectance p behind a clear
    # layer shows R = k1 + (1 - k1)(1 - k2) p/(1 - k2 p), k1 and k2 Fresnel's for diffuse light from
    # outside and inside; 1 - k2 = (1 - k1)/n**2 = 0.409754 (section 6, DERIVED).
    outside, inside = 1.0 - 0.909694, 1.0 - 0.409754
    expected = outside + (1.0 - outside) * (1.0 - inside) * paint / (1.0 - inside * paint)
    thin = {"thickness_mm": 0.02, "dot_share": 1.0, "dot_reflectance": paint, "reflector": None}
    how, out = from_above(thin, groups=(ROW | {"height_mm": 0.02},))
    assert_proportion((how == -1).sum(), PHOTONS, expected, known_to=1e-3)
    assert (out[how == -1, 5] > 0.0).all()


@pytest.mark.parametrize("case", ROWS)
def test_traced_shares(case):
    plate, shares = ROWS[case]
    how, out = born(plate)
    far = (how == codes.AT_OTHER_EDGES) & (out[:, 0] > 44.999)
    found = (
        how == -1,
        how == codes.AT_LIT_EDGE,
        far,
        (how == codes.AT_OTHER_EDGES) & ~far,
        how == codes.AT_DOTS,
        how == codes.AT_REFLECTOR,
    )
    names = ("front", "near", "far", "sides", "dots", "reflector")
    for name, photons, share in zip(names, found, shares, strict=True):
        # The table gives four decimals.
        known_to = math.hypot(math.sqrt(share * (1.0 - share) / 4e5), 3e-5)
        assert_proportion(
            photons.sum(), PHOTONS, share, known_to=known_to if share else 0.0, what=name
        )


@pytest.mark.parametrize("case", FIELDS)
def test_traced_output_along_the_plate(case):
    known, fields = FIELDS[case]
    how, out = born(ROWS[case][0])
    counts = np.histogram(out[how == -1, 0], bins=9, range=(-45.0, 45.0))[0]
    for place, (count, field) in enumerate(zip(counts, fields, strict=True)):
        share = 1e-4 * field
        known_to = math.hypot(math.sqrt(share / known), 3e-5)
        assert_proportion(count, PHOTONS, share, known_to=known_to, what=f"{case}, field {place}")


def test_angles_of_the_output():
    # TRACED: shares within 10, 20, 30 and 60 degrees of the axis; matt dots make no lobe.
    how, out = born(ROWS["B"][0])
    left = out[how == -1]
    for angle, share, known_to in (
        (10.0, 0.0318, 0.0002),
        (20.0, 0.1232, 0.0004),
        (30.0, 0.2630, 0.0006),
        (60.0, 0.7799, 0.0011),
    ):
        inside = (left[:, 5] > math.cos(math.radians(angle))).sum()
        assert_proportion(inside, len(left), share, known_to=known_to, what=f"{angle} degrees")
    assert abs(left[:, 3].mean()) < 5.0 * 0.5 / math.sqrt(len(left))


def test_reflectance_for_light_from_above():
    # TRACED, case G: 0.8748 +- 0.0005 for Lambertian light evenly over the front.
    how, _ = from_above(ROWS["G"][0])
    assert_proportion((how == -1).sum(), PHOTONS, 0.8748, known_to=0.0005)


def test_with_a_film_above():
    # TRACED, case G with a prism film (n = 1.586, ridges parallel to the lit edge), 1e6.
    film = {"kind": "prism_film", "z_mm": 5.001, "thickness_mm": 0.0, "index": 1.586}
    film |= {"along_deg": 90.0, "width_mm": 90.0, "height_mm": 50.0}
    plain = plate_scene(ROWS["G"][0], parts={"film": film})
    traced = trace(to_toml(scene_from_dict(plain)), PHOTONS)
    arrived = int(traced.incident.sum())
    for what, count, share in (
        ("front", arrived, 0.5849),
        ("dots", traced.fates["absorbed by dots of plate"], 0.1252),
        ("reflector", traced.fates["absorbed by reflector of plate"], 0.0352),
        ("near", traced.fates["escaped through lit edges of plate"], 0.1643),
    ):
        known_to = math.sqrt(share * (1.0 - share) / 1e6)
        assert_proportion(count, traced.photons, share, known_to=known_to, what=what)
    within = int(traced.polar[:20].sum())
    assert_proportion(within, traced.photons, 0.14325, known_to=0.00038, what="within 20 degrees")


@pytest.mark.parametrize("edge", codes.EDGES)
def test_every_edge_lights_the_plate_alike(edge):
    size = {"width_mm": 50.0, "height_mm": 50.0}
    plates = [
        born(size | GRADED, groups=(ROW | {"edge": e},), seed=s) for e, s in ((edge, 1), ("-x", 2))
    ]
    tables = []
    for name, (how, out) in zip((edge, "-x"), plates, strict=True):
        axis, side = "xy".index(name[1]), 1.0 if name[0] == "-" else -1.0
        along, across = side * out[:, axis], out[:, 1 - axis]
        shown = np.histogram2d(along[how == -1], across[how == -1], bins=5, range=[(-25, 25)] * 2)
        tables.append([*shown[0].ravel(), *(np.sum(how == k) for k in range(6))])
    assert_same_distribution(*tables, what=f"light from {edge} and -x")


def test_two_opposite_edges_are_graded_from_the_middle():
    groups = (ROW, ROW | {"edge": "+x"})
    how, out = born({"dot_share": 0.5, "dot_drain_mm": 20.0}, groups=groups)
    counts = np.histogram(out[how == -1, 0], bins=9, range=(-45.0, 45.0))[0]
    mean = 0.5 * (counts + counts[::-1])
    assert_distribution(counts, mean / mean.sum(), what="left and right")
    program, back = program_of(plate_scene({"dot_share": 0.5, "dot_drain_mm": 20.0}, groups=groups))
    shares = [light_plate.dot_share.py_func(program, back, x, 0.0) for x in (-45.0, 0.0, 20.0)]
    assert shares == pytest.approx([0.5 * 20.0 / 65.0, 0.5, 0.25])


def test_a_table_of_the_law_is_the_law():
    places = np.linspace(0.0, 90.0, 181)
    table = {
        "from_edge_mm": places.tolist(),
        "share": (0.9 * 30.0 / (120.0 - places)).tolist(),
    }
    law, tabled = ROWS["G"][0], PLATE | MIRRORS | {"dots": table}
    for edge in ("-x", "+x"):
        groups = (ROW | {"edge": edge},)
        counts = [
            np.bincount(born(plate, groups=groups, seed=seed)[0] + 1, minlength=7)
            for seed, plate in enumerate((law, tabled), 1)
        ]
        assert_same_distribution(*counts, what="law and table")


def test_white_edges_take_what_they_do_not_scatter():
    # DERIVED: black paint in contact takes all that entered, 0.909694.
    how, _ = born(BARE | {"edges": "white", "edge_reflectance": 0.0})
    assert_proportion((how == codes.AT_OTHER_EDGES).sum(), PHOTONS, 0.909694, known_to=5e-7)
    # White paint makes the far end one big dot, which loses light through the faces; a mirror not.
    white, _ = born(BARE | {"edges": "white", "edge_reflectance": 1.0})
    mirror, _ = born(BARE | MIRRORS)
    assert (white == -1).mean() > 0.1
    assert (mirror == -1).sum() == (white == codes.AT_OTHER_EDGES).sum() == 0


@pytest.mark.long
def test_derived_rows_with_ten_million():
    how, _ = born(BARE, photons=10_000_000)
    assert_proportion((how == codes.AT_OTHER_EDGES).sum(), len(how), 0.847051, known_to=5e-7)
