"""Faults of polarised light: signs, frames, phases and memory."""

from tests.planted.fault import Fault

FACES, FILM, PARTS = (
    f"tests/physics/test_polarised_{name}.py" for name in ("faces", "film", "parts")
)

OF_POLARISATION = (
    Fault(
        "rp with the sign of the other convention",
        "kernel/fresnel.py",
        "    p_top, p_bottom = ratio * before - behind, ratio * before + behind\n",
        "    p_top, p_bottom = behind - ratio * before, ratio * before + behind\n",
        (f"{FACES}::test_light_at_45_degrees_reflected_by_glass",),
    ),
    Fault(
        "rp with the sign of the other convention at a plate",
        "kernel/clear_plate.py",
        "mixed = s_wave * s_wave, p_wave * p_wave, s_wave * p_wave",
        "mixed = s_wave * s_wave, p_wave * p_wave, -s_wave * p_wave",
        (f"{PARTS}::test_u_and_v_of_a_plate_against_the_sum_of_internal_passes",),
    ),
    Fault(
        "light not turned into the plane of incidence of a prism film's facets",
        "kernel/prism_film.py",
        "light = into_plane(light, (d_a, image_b, d_c), index if inside else ONE, axis)",
        "light = image(light, ONE)",
        (f"{FILM}::test_lambertian_light_by_polarisation",),
    ),
    Fault(
        "light not turned back behind a spherical face",
        "kernel/real_lens.py",
        "    light = out_of_plane(light, (u, v, w), ONE, axis)\n",
        "",
        (f"{PARTS}::test_spherical_face_against_the_field_itself",),
    ),
    Fault(
        "a frame turned by its angle instead of twice that",
        "kernel/polarisation.py",
        "    return (along * along - across * across) / square, (along + along) * across / square",
        "    return along / square**HALF, across / square**HALF",
        (f"{FACES}::test_turn_into_another_plane",),
    ),
    Fault(
        "the hand of a prism film's frame",
        "kernel/prism_film.py",
        "        image(photon.light, -to_ridges),\n",
        "        image(photon.light, to_ridges),\n",
        (f"{PARTS}::test_way_through_flat_side_and_facet_against_the_field_itself",),
    ),
    Fault(
        "the phase of total reflection left out",
        "kernel/prism_film.py",
        "return meet_beyond_critical(light, normal, step - squared, ratio), -normal, True, rng",
        "return light, -normal, True, rng",
        (f"{FILM}::test_roof_of_90_degrees",),
    ),
    Fault(
        "U and V forgotten at every face",
        "kernel/polarisation.py",
        "    return Light(q * per, mixed * light.u, mixed * light.v, light.counts)",
        "    return Light(q * per, ZERO * light.u, ZERO * light.v, light.counts)",
        (f"{FILM}::test_polarisation_of_what_leaves",),
    ),
    Fault(
        "a face that reflects polarised light by the mean reflectance",
        "kernel/fresnel.py",
        "share(light, top * top, other * other)",
        "share(None, top * top, other * other)",
        (f"{FILM}::test_lambertian_light_by_polarisation",),
    ),
    Fault(
        "a diffuser that does not depolarise",
        "kernel/diffuser.py",
        "carried(weakened(photon.light, keeps), ",
        "carried(photon.light, ",
        (f"{PARTS}::test_diffuser_depolarises_by_its_share_what_it_scatters",),
    ),
    Fault(
        "matt surfaces that keep the state",
        "kernel/surface.py",
        "    return a, b, upright, lit(photon, weakened(photon.light, ZERO))\n",
        "    return a, b, upright, photon\n",
        (f"{PARTS}::test_base_mirrors_a_state_or_forgets_it",),
    ),
    Fault(
        "a polarised program traced without its polarisation",
        "kernel/entries.py",
        '    if traits & codes.POLARISED:\n        return "polarised_"\n',
        "",
        (f"{PARTS}::test_lambertian_light_on_parallel_plates",),
    ),
)
