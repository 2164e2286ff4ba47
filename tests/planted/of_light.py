"""Faults of the way of the light: a scene, its program, the kernel, the bench."""

from tests.planted.fault import Fault

P = "tests/physics/"

OF_LIGHT = (
    Fault(
        "emitters and diffuse faces without the cosine: directions even over the hemisphere",
        "kernel/sampling.py",
        "    radius = math.sqrt(first)\n"
        "    return radius * cosine, radius * sine, math.sqrt(ONE - first)",
        "    radius = math.sqrt(ONE - first * first)\n"
        "    return radius * cosine, radius * sine, first",
        (f"{P}test_sampling.py",),
    ),
    Fault(
        "s taken for p: no angle without reflection",
        "kernel/fresnel.py",
        "    p_top, p_bottom = ratio * before - behind, ratio * before + behind\n",
        "    p_top, p_bottom = s_top, s_bottom\n",
        (f"{P}test_fresnel.py",),
    ),
    Fault(
        "index ratio inverted at a clear plate",
        "kernel/clear_plate.py",
        "amplitudes(cos_in, ONE / index)",
        "amplitudes(cos_in, index)",
        (
            f"{P}test_clear_plate.py::test_straight_on",
            f"{P}test_clear_plate.py::test_lambertian_light",
        ),
    ),
    Fault(
        "index ratio inverted at a prism film's faces",
        "kernel/prism_film.py",
        "math.sqrt(squared - step if inside else squared + step)",
        "math.sqrt(squared + step if inside else abs(squared - step))",
        (f"{P}test_prism_film.py::test_exit_angle",),
    ),
    Fault(
        "a ridge's left facet taken for its right one",
        "kernel/prism_film.py",
        "    turned = math.copysign(ONE, d_a * half_base * cosine + d_c * place * sine)",
        "    turned = ONE",
        (f"{P}test_prism_film.py::test_left_and_right_are_alike", f"{P}test_prism_film.py"),
    ),
    Fault(
        "ridges the wrong way",
        "program/build.py",
        '1.0 if part.ridges == "to_screen" else -1.0',
        '-1.0 if part.ridges == "to_screen" else 1.0',
        (f"{P}test_prism_film.py::test_film_turned_over_in_a_lamp",),
    ),
    Fault(
        "degrees taken for radians in the ridges' direction",
        "program/build.py",
        "math.radians(part.along_deg)",
        "part.along_deg",
        (f"{P}test_prism_film.py::test_turned_film_in_a_lamp",),
    ),
    Fault(
        "absorption in the film on one way only",
        "kernel/prism_film.py",
        "                return LEFT, light, turned * d_a, d_b, -d_c, rng\n"
        "            alive, rng = crosses(ONE if base > ONE else kept, d_a, rng)\n"
        "            if not alive:\n"
        "                return ABSORBED, light, d_a, d_b, d_c, rng\n"
        "            face,",
        "                return LEFT, light, turned * d_a, d_b, -d_c, rng\n            face,",
        (f"{P}test_prism_film_light.py::test_absorption_takes_its_share_at_every_crossing",),
    ),
    Fault(
        "light does not come back from the face between a film's base and its ridges",
        "kernel/prism_film.py",
        "        below, beyond = base if at_coat else ONE, index if at_coat else base\n",
        "        below, beyond = base if at_coat else ONE, base\n",
        (
            f"{P}test_film_as_made.py::test_straight_on_through_three_level_faces",
            f"{P}test_film_as_made.py::test_slanting_polarised_light_through_three_level_faces",
        ),
    ),
    Fault(
        "the face between a film's base and its ridges with the denser side for the rarer",
        "kernel/prism_film.py",
        "        rises = beyond >= below\n",
        "        rises = True\n",
        (f"{P}test_prism_film_light.py::test_lambertian_light_against_the_plain_tracer",),
    ),
    Fault(
        "light absorbed in a film's base on its first crossing only",
        "kernel/prism_film.py",
        "        above, at_coat = at_coat, not at_coat\n",
        "        above, at_coat, kept = at_coat, not at_coat, ONE\n",
        (f"{P}test_film_as_made.py::test_straight_on_through_three_level_faces",),
    ),
    Fault(
        "the matt side of a film at its ridges",
        "program/layers.py",
        'part.ridges == "to_screen"',
        'part.ridges == "to_lamp"',
        (f"{P}test_film_as_made.py::test_a_matt_side_is_a_diffuser_right_before_the_flat_side",),
    ),
    Fault(
        "a lobe that loses energy: light past the unit disc is sent along the sheet",
        "kernel/diffuser.py",
        "            radius = math.sqrt(inverse_cumulative(number, program.tables, first, count))",
        "            radius = ONE",
        (
            f"{P}test_diffuser.py::test_reciprocity",
            f"{P}test_diffuser.py::test_even_light_stays_even",
        ),
    ),
    Fault(
        "a lobe a tenth too wide",
        "scene/scatter.py",
        "    near = 1.0 - math.exp(-0.5 * (HAZE_COSINE / sigma) ** 2)",
        "    near = 1.0 - math.exp(-0.5 * (1.1 * HAZE_COSINE / sigma) ** 2)",
        (f"{P}test_diffuser.py::test_haze_out_is_haze_in",),
    ),
    Fault(
        "the panel's angle table at whichever face is met first",
        "kernel/panel.py",
        "    alive, upwards = True, photon.w > ZERO\n",
        "    alive, upwards = True, True\n",
        ("tests/contract/test_parts.py::test_as_much_goes_from_one_direction_to_another_as_back",),
    ),
    Fault(
        "the kick of an ideal lens bends slopes instead of cosines",
        "kernel/ideal_lens.py",
        "    u, v = photon.u - kick * x, photon.v - kick * y",
        "    u, v = photon.u - kick * x * photon.w, photon.v - kick * y * photon.w",
        (f"{P}test_ideal_lens.py",),
    ),
    Fault(
        "a virtual conjugate taken for a real one",
        "kernel/ideal_lens.py",
        "    return math.copysign(ONE / math.sqrt(r_squared + conjugate * conjugate), conjugate)",
        "    return ONE / math.sqrt(r_squared + conjugate * conjugate)",
        (f"{P}test_ideal_lens.py",),
    ),
    Fault(
        "a lens face's normal with the wrong sign of its slope",
        "kernel/real_lens.py",
        "    n_x, n_y, n_z = -curvature * x, -curvature * y,",
        "    n_x, n_y, n_z = curvature * x, curvature * y,",
        (f"{P}test_real_lens.py",),
    ),
    Fault(
        "a lens surface reached at the far one of two intersections",
        "kernel/real_lens.py",
        "    return True, rest / (math.copysign(math.sqrt(root), w) - half)",
        "    return True, rest / (-math.copysign(math.sqrt(root), w) - half)",
        (f"{P}test_real_lens.py",),
    ),
    Fault(
        "black walls of a Fresnel lens's grooves that light goes through",
        "kernel/fresnel_lens.py",
        "                if is_black:\n",
        "                if False:\n",
        (f"{P}test_fresnel_lens.py",),
    ),
    Fault(
        "draft faces of a Fresnel lens that lean the other way for what they bend",
        "kernel/fresnel_lens.py",
        "lean * upright, -upright, draft * upright, foot",
        "lean * upright, -upright, -draft * upright, foot",
        (f"{P}test_fresnel_lens.py",),
    ),
    Fault(
        "a Fresnel lens's groove walls upright for light from the air alone",
        "kernel/fresnel_lens.py",
        "        d_a, d_c = -d_a, -d_c\n    rng",
        "        d_a, d_c = -d_a, -d_c\n        foot = ZERO * foot\n    rng",
        ("tests/contract/test_parts.py::test_even_light_passes_as_much_from_either_side",),
    ),
    Fault(
        "offsets on the screen not brought back to the panel's scale",
        "kernel/landing.py",
        "    d_x = (photon.x + way * slope_x) * shrink - x * place",
        "    d_x = (photon.x + way * slope_x) - x * place",
        (f"{P}test_screen.py::test_ideal_lens_in_its_conjugates_is_sharp_in_the_middle",),
    ),
    Fault(
        "a measured lobe turned the other way round",
        "program/emission.py",
        "np.mod(turn_deg - azimuth, 360.0)",
        "np.mod(azimuth - turn_deg, 360.0)",
        (f"{P}test_measured_lobe.py::test_planes_are_counted_clockwise_as_seen_from_the_screen",),
    ),
    Fault(
        "cells of a measured lobe topped up from their alias by the wrong share",
        "program/emission.py",
        "        kept[less], alias[less] = heights[less], more",
        "        kept[less], alias[less] = 1.0 - heights[less], more",
        (f"{P}test_measured_lobe.py::test_alias_table_gives_back_the_shares",),
    ),
    Fault(
        "heat from one side of the fins only",
        "supply/heat.py",
        "    flanks = 2.0 * sink.fins * height",
        "    flanks = sink.fins * height",
        ("tests/supply/test_heat.py", "tests/supply/test_supply.py"),
    ),
    Fault(
        "a wall that mirrors about a normal with the wrong sign of the taper",
        "kernel/housing.py",
        "        twice = TWO * (w * sine - across * cosine)\n"
        "        across, w = across + twice * cosine, w - twice * sine",
        "        twice = TWO * (w * sine + across * cosine)\n"
        "        across, w = across - twice * cosine, w - twice * sine",
        (f"{P}test_housing.py::test_mirror",),
    ),
    Fault(
        "walls that taper the other way",
        "program/build.py",
        "    entries[codes.WALL_TAN] = math.tan(taper)",
        "    entries[codes.WALL_TAN] = -math.tan(taper)",
        (f"{P}test_tapered_box.py",),
    ),
    Fault(
        "one wall of a pair forgotten",
        "kernel/housing.py",
        "            nearest, side = distance, MINUS_Y",
        "            nearest, side = distance, PLUS_Y",
        (f"{P}test_housing.py::test_nearest_wall_against_numpy",),
    ),
    Fault(
        "specular share taken of all light instead of the reflected",
        "kernel/surface.py",
        "number < reflectance * specular_share",
        "number < specular_share",
        (f"{P}test_housing.py::test_shares_of_a_wall",),
    ),
    Fault(
        "flux of a group not multiplied by its number of emitters",
        "program/build.py",
        "group.flux_lm * group.count for group",
        "group.flux_lm for group",
        (f"{P}test_emitters.py::test_flux_shares_the_photons",),
    ),
    Fault(
        "disc emitters brighter in the middle",
        "kernel/sampling.py",
        "    radius = math.sqrt(first)\n    return radius * cosine, radius * sine\n",
        "    radius = first\n    return radius * cosine, radius * sine\n",
        (
            f"{P}test_sampling.py::test_disc_is_even",
            f"{P}test_emitters.py::test_disc_shines_evenly",
        ),
    ),
    Fault(
        "strips set off by half a strip",
        "program/build.py",
        "codes.STRIP_SHIFT] = 0.5 * share - offset",
        "codes.STRIP_SHIFT] = -offset",
        (f"{P}test_strips.py::test_strips_at_a_pitch",),
    ),
    Fault(
        "a stop half as wide",
        "program/build.py",
        "    def _aperture_stop(self, number: int, part: ApertureStop) -> None:\n"
        "        self.real[number, codes.RADIUS_SQUARED] = (0.5 * part.diameter_mm) ** 2",
        "    def _aperture_stop(self, number: int, part: ApertureStop) -> None:\n"
        "        self.real[number, codes.RADIUS_SQUARED] = (0.25 * part.diameter_mm) ** 2",
        (f"{P}test_cones.py::test_any_cone_of_lamberts_light",),
    ),
    Fault(
        "pixels off by one",
        "kernel/counting.py",
        "bin_of(across, maps.panel.shape[1])",
        "bin_of(across, maps.panel.shape[1] - 1)",
        (f"{P}test_panel.py::test_tallies_of_even_light",),
    ),
    Fault(
        "rounding of direction sums one-sided",
        "kernel/whole.py",
        "    return math.floor(value * scale + HALF)",
        "    return math.floor(value * scale)",
        (f"{P}test_panel.py::test_direction_sums_are_rounded_to_the_nearest",),
    ),
    Fault(
        "a photon that waited on a GPU counts its surface twice",
        "kernel/cuda_tally.py",
        "layer, wavelength, events - 1, born",
        "layer, wavelength, events, born",
        ("tests/engine/test_cuda.py::test_the_simulated_gpu_counts_what_the_processor_counts",),
    ),
    Fault(
        "one seed for all histories",
        "kernel/random.py",
        "    return mix(seed + COUNTER_STEP * (history + np.uint64(1)))",
        "    return mix(seed + COUNTER_STEP * ((history >> HALF_OF_64) + np.uint64(1)))",
        (
            f"{P}test_random.py::test_history_begins_where_the_sequence_of_starts_says",
            f"{P}test_random.py",
        ),
    ),
    Fault(
        "two numbers of an emission from one dimension of the net",
        "kernel/digital_net.py",
        "    third = _joined(like, bits, free)",
        "    third = second",
        (f"{P}test_digital_net.py::test_a_block_is_a_net",),
    ),
    Fault(
        "all blocks of the emission's net scrambled alike",
        "kernel/digital_net.py",
        "    block = history >> BLOCK_SHIFT",
        "    block = history & np.uint64(0)",
        (f"{P}test_digital_net.py::test_scrambling_is_uniform_and_unrelated",),
    ),
    Fault(
        "the digits of the emission's net shifted alike in all four numbers",
        "kernel/digital_net.py",
        "    return bits ^ apart(seed, TWO_EACH * block + ONE_PLACE)\n",
        "    return bits ^ (\n"
        "        apart(seed, TWO_EACH * block + ONE_PLACE) >> np.uint64(48) << np.uint64(48)\n"
        "    )\n",
        (f"{P}test_digital_net.py::test_scrambling_is_uniform_and_unrelated",),
    ),
    Fault(
        "a direction number of Sobol's sequence wrong",
        "kernel/digital_net.py",
        "(3, 1, (1, 3, 1))",
        "(3, 1, (1, 3, 3))",
        (f"{P}test_digital_net.py::test_columns_are_those_of_sobols_sequence",),
    ),
    Fault(
        "walls that reach the housing's mouth wherever they end",
        "scene/housing.py",
        "end = self.depth_mm if self.walls.to_mm is None else self.walls.to_mm",
        "end = self.depth_mm",
        (f"{P}test_edges.py::test_walls_reach_from_where_they_begin_to_where_they_end",),
    ),
    Fault(
        "a cemented face with the rim of the first lens only",
        "program/build.py",
        "(0.5 * min(part.diameter_mm, after.diameter_mm)) ** 2",
        "(0.5 * part.diameter_mm) ** 2",
        (f"{P}test_edges.py::test_cemented_face_ends_at_the_smaller_rim",),
    ),
)
