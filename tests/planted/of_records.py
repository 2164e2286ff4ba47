"""Faults of what is made of traced light: runs, sums, errors, files, caches."""

from tests.planted.fault import Fault

R = "tests/results/"

OF_RECORDS = (
    Fault(
        "counts of a packed file cut to 16 bits",
        "results/files/file.py",
        '{"scaleoffset": 0} if',
        '{"scaleoffset": 16} if',
        (f"{R}test_file.py::test_packing_keeps_every_bit_of_any_whole_number",),
    ),
    Fault(
        "what is continued is read before the file is held",
        "engine/run.py",
        "    with held, Interrupt() as interrupt:\n",
        "    with Interrupt() as interrupt:\n",
        ("tests/engine/test_faults.py",),
    ),
    Fault(
        "batches of another size than was said: the row's shift off by one",
        "engine/worker.py",
        "            np.uint64(shift),\n",
        "            np.uint64(shift + 1),\n",
        ("tests/engine/test_run.py::test_batches_hold_their_own_histories",),
    ),
    Fault(
        "batches merged with the wrong neighbour",
        "engine/rows.py",
        "            self.rows = self.rows[0::2] + self.rows[1::2]",
        "            middle = len(self.rows) // 2\n"
        "            self.rows = self.rows[:middle] + self.rows[middle:]",
        ("tests/engine/test_run.py::test_rows_joined_step_by_step_are_rows_made_at_once",),
    ),
    Fault(
        "a round that begins one history late",
        "engine/run.py",
        "        edges = [first + count * k // pieces for k in range(pieces + 1)]",
        "        edges = [first + count * k // pieces + bool(first) for k in range(pieces + 1)]",
        ("tests/engine/test_run.py::test_a_run_is_its_histories_each_once",),
    ),
    Fault(
        "a jackknife without its factor g - 1",
        "results/sums.py",
        "* np.sqrt((g - 1) / g)",
        "* np.sqrt(1 / g)",
        (f"{R}test_estimate.py::test_jackknife_of_independent_photons_is_the_binomial_error",),
    ),
    Fault(
        "the error of a difference not paired",
        "studies/comparing/paired.py",
        "    if not are_paired(one, other):",
        "    if True:",
        ("tests/studies/test_compare.py::test_pairing_shrinks_the_error_of_a_small_change",),
    ),
    Fault(
        "counting noise left in the lamp structure",
        "results/panel/structure.py",
        "(pairs**2).sum(axis=2) - NOISE_SQUARE_OFF * noise",
        "(pairs**2).sum(axis=2)",
        (f"{R}test_merit.py::test_structure_of_noise_alone_is_near_nil_on_average",),
    ),
    Fault(
        "uniformity read at the corners of the nine fields instead of their centres",
        "results/merit.py",
        "    return s.cells[:, light, 1::3, 1::3]",
        "    return s.cells[:, light, 0::3, 0::3]",
        (f"{R}test_merit.py::test_nine_points_are_read_at_the_centres_of_equal_fields",),
    ),
    Fault(
        "the least reading of its own noise not corrected",
        "results/panel/extremes.py",
        "(weights * (readings + own))",
        "(weights * readings)",
        (f"{R}test_extremes.py::test_least_of_made_up_readings",),
    ),
    Fault(
        "half-samples with the constant column of signs",
        "results/sums.py",
        "_hadamard(g)[:, 1 : g + 1]",
        "_hadamard(g)[:, 0:g]",
        (f"{R}test_estimate.py::test_half_samples_of_a_linear_figure_scatter_as_batches_do",),
    ),
    Fault(
        "the right edge read twice, the left never",
        "results/merit.py",
        "(profile[:, :EDGE_BINS], profile[:, -EDGE_BINS:])",
        "(profile[:, -EDGE_BINS:], profile[:, -EDGE_BINS:])",
        (f"{R}test_merit.py::test_the_rim_is_read_in_strips_of_a_32nd_and_in_corners",),
    ),
    Fault(
        "sums that wrap past 2**63",
        "results/sums.py",
        "np.asarray(high.sum(axis=0) * 2.0**32 + low.sum(axis=0))",
        "array.sum(axis=0).astype(np.float64)",
        (f"{R}test_estimate.py::test_sums_are_exact_to_the_greatest_count",),
    ),
    Fault(
        "the panel's transmittance left out of the lumens",
        "results/merit.py",
        "    return s.collected / s.photons * optics.flux_lm * optics.transmittance",
        "    return s.collected / s.photons * optics.flux_lm",
        (f"{R}test_merit.py",),
    ),
    Fault(
        "the seal of a result file not compared",
        "results/files/seal.py",
        "    if hashlib.sha256(content).hexdigest() != digest:",
        "    if False:",
        (
            f"{R}test_file.py::test_a_changed_count_is_noticed",
            f"{R}test_file.py::test_any_flipped_byte_is_noticed_before_the_library_reads_it",
        ),
    ),
    Fault(
        "a folder for compiled code that others can write to is used",
        "kernel/compiler.py",
        "    others_write = facts.st_mode & (stat.S_IWGRP | stat.S_IWOTH)",
        "    others_write = 0",
        ("tests/test_security.py",),
    ),
    Fault(
        "an earlier result of another lamp is continued",
        "engine/record.py",
        "    if found := changes(earlier.scene, scene):",
        "    if found := ():",
        ("tests/engine/test_run.py::test_a_result_of_another_lamp_or_seed_is_not_continued",),
    ),
    Fault(
        "the error of a share from the count, however many batches there are",
        "results/result.py",
        "        if self.tallies.complete_batches >= sums.FEWEST_BATCHES:",
        "        if False:",
        (f"{R}test_estimate.py",),
    ),
)
