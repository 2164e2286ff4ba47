"""Faults of how long a run goes on, how maps are divided, and what is told of a result."""

from tests.planted.fault import Fault

CAVEATS = "tests/results/test_caveats.py::"
STOP = "tests/engine/test_stop_rule.py::"

GUIDE = "tests/engine/test_guide.py::"

OF_COUNTS = (
    Fault(
        "a weight forgotten in the angles of a plane",
        "kernel/counting.py",
        "add(counts, unsigned(plane_x + place), weight)",
        "add(counts, unsigned(plane_x + place), 1)",
        (f"{GUIDE}test_nothing_is_biased",),
    ),
    Fault(
        "a weight forgotten in the sums of a smaller stop",
        "kernel/counting.py",
        "unsigned(ring + 3 * ALL_CELLS), whole_xx + whole_yy",
        "unsigned(ring + 3 * ALL_CELLS), (whole_xx + whole_yy) // weight",
        (f"{GUIDE}test_tallies_of_a_guided_run_agree_with_each_other",),
    ),
    Fault(
        "a class of cells with the weight of its neighbours",
        "kernel/allotment.py",
        "entry |= (self.doublings.max() - self.doublings) <<",
        "entry |= (self.doublings.max() - np.maximum(self.doublings, 1)) <<",
        (f"{GUIDE}test_weights_of_every_256_histories_sum_to_their_photons",),
    ),
    Fault(
        "bundles of the wrong length: a class allotted wrongly",
        "kernel/allotment.py",
        "(BUNDLE >> level)]] += 1",
        "(BUNDLE >> level) + 1]] += 1",
        (f"{GUIDE}test_weights_of_every_256_histories_sum_to_their_photons",),
    ),
    Fault(
        "a guide that is not saved",
        "results/files/file.py",
        "    if tallies.guide is not None:\n",
        "    if False:\n",
        (f"{GUIDE}test_a_guide_goes_with_its_result_and_to_others",),
    ),
    Fault(
        "a replayed history without the guide of its run",
        "engine/paths.py",
        "Compiled(scene_of(scene), guide)",
        "Compiled(scene_of(scene))",
        (f"{GUIDE}test_replayed_histories_are_those_of_a_guided_run",),
    ),
    Fault(
        "light given up is nothing to a difference",
        "studies/comparing/paired.py",
        "unknown = reach_of_given_up(one, name) + abs(times) * reach_of_given_up(other, name)",
        "unknown = 0.0",
        (f"{CAVEATS}test_no_difference_is_real_that_light_given_up_could_have_made",),
    ),
    Fault(
        "light given up is told from one in a hundred on",
        "results/remarks/caveats.py",
        "MOST_GIVEN_UP = 1e-4",
        "MOST_GIVEN_UP = 1e-2",
        (f"{CAVEATS}test_the_warning_begins_at_one_in_ten_thousand",),
    ),
    Fault(
        "versions in the order of their letters",
        "results/remarks/laws.py",
        "tuple(int(number) for number in",
        "tuple(number for number in",
        (f"{CAVEATS}test_results_of_a_mended_law_are_told_by_version_and_scene",),
    ),
    Fault(
        "a map fit to print judged whenever a round ends",
        "engine/stop_rule.py",
        "return self.fit_to_print and photons == next_print_look(photons - 1)",
        "return self.fit_to_print",
        (f"{STOP}test_its_count_and_bits_do_not_depend_on_how_it_was_run",),
    ),
    Fault(
        "a run called by the count that was asked for and not by its own",
        "engine/stop_rule.py",
        'return f"photon count {photons:,}"',
        'return f"photon count {self.most_photons:,}"',
        ("tests/cli/test_commands.py::test_trace_saves_continues_and_starts_afresh",),
    ),
    Fault(
        "a narrow row of blocks at the edge of a map",
        "results/panel/blocks.py",
        "np.arange(blocks + 1) * size // blocks",
        "np.minimum(np.arange(blocks + 1) * -(-size // blocks), size)",
        ("tests/results/test_blocks.py::test_blocks_hold_every_pixel_once_and_none_is_a_sliver",),
    ),
)
