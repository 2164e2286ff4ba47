"""Faults of the light plate and of thick sheets."""

from tests.planted.fault import Fault

PLATE = "kernel/light_plate.py"
T = "tests/physics/test_light_plate.py::"

OF_PLATE = (
    Fault(
        "dots of a light plate Lambertian in air instead of within",
        PLATE,
        "            return False, scattered_by(photon, axis), False",
        "            photon = scattered_by(photon, axis)\n"
        "            u, v = photon.u / before, photon.v / before\n"
        "            w = math.copysign(math.sqrt(ONE - u * u - v * v), photon.w)\n"
        "            return False, aimed(photon, u, v, w, photon.rng), False",
        (f"{T}test_paint_on_the_back_of_a_plate",),
    ),
    Fault(
        "no light through the clear back of a light plate",
        PLATE,
        "    passes, photon = meet_clear(photon, axis, before, behind)\n"
        "    return passes, photon, False",
        "    return False, mirrored_in(photon, axis), False",
        (f"{T}test_traced_shares",),
    ),
    Fault(
        "absorption in a light plate by its thickness, whatever the slant",
        PLATE,
        "        left = left - way\n",
        "        left = left - (program.layer_z[back + 1] - program.layer_z[back])\n",
        (f"{T}test_a_block_that_absorbs_against_the_sum_of_its_passes",),
    ),
    Fault(
        "light that a lit edge reflects is taken in all the same",
        PLATE,
        "    return INSIDE if enters else outcome, photon",
        "    return INSIDE, photon",
        (f"{T}test_a_bare_block_passes_what_a_plate_of_its_ends_does",),
    ),
    Fault(
        "light that a lit edge reflects counted as light that came back to it",
        PLATE,
        "NOT_TAKEN_IN = np.int32(codes.NOT_TAKEN_IN)",
        "NOT_TAKEN_IN = np.int32(codes.AT_LIT_EDGE)",
        (f"{T}test_a_bare_block_passes_what_a_plate_of_its_ends_does",),
    ),
    Fault(
        "directions of emitters on an edge not turned into the plate",
        PLATE,
        "        return aimed(photon, inwards, a, b, photon.rng)",
        "        return aimed(photon, a, b, inwards, photon.rng)",
        (f"{T}test_a_bare_block_passes_what_a_plate_of_its_ends_does",),
    ),
    Fault(
        "dots graded from the wrong end",
        "program/light_plate.py",
        "        back[codes.DOTS_FROM] = 0.0 if from_both else -half",
        "        back[codes.DOTS_FROM] = 0.0 if from_both else half",
        (f"{T}test_traced_output_along_the_plate",),
    ),
    Fault(
        "light crosses a thick sheet along its direction in air",
        "kernel/thick_sheet.py",
        "math.sqrt(index * index - u * u - v * v)",
        "math.sqrt(ONE - u * u - v * v)",
        ("tests/physics/test_thick_sheet.py::test_a_plane_plate_shifts_a_ray_as_geometry_says",),
    ),
)
