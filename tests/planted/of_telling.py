"""Faults of what is told: the bench, studies, commands, write-ups."""

from tests.planted.fault import Fault

CUTTING = "tests/workshop/test_cutting.py::"
COMPARE = "tests/studies/test_compare.py::"
RACE = "tests/studies/test_race_by_hand.py::"
TOLD = "tests/cli/test_figures_told.py::"
REPORT = "tests/report/test_own_numbers.py::"

OF_BENCH = (
    Fault(
        "kerf taken off the outline instead of added",
        "workshop/pieces.py",
        "outline=moved_outward(self.outline, half),",
        "outline=moved_outward(self.outline, -half),",
        (f"{CUTTING}test_kerf_is_half_outside_the_edge_and_inside_the_hole",),
    ),
    Fault(
        "holes that grow with the kerf",
        "workshop/pieces.py",
        "diameter_mm=circle.diameter_mm - kerf_mm",
        "diameter_mm=circle.diameter_mm + kerf_mm",
        (f"{CUTTING}test_kerf_is_half_outside_the_edge_and_inside_the_hole",),
    ),
    Fault(
        "the strips' guide seen from the lamp",
        "workshop/cutting.py",
        "    centre = 0.5 * (low + high)\n",
        "    centre = -0.5 * (low + high)\n",
        (f"{CUTTING}test_pieces_of_a_lopsided_lamp_lie_as_seen_from_the_screen",),
    ),
    Fault(
        "ridges of the film across the direction that the scene gives",
        "workshop/cutting.py",
        "along = (math.cos(turn), math.sin(turn))",
        "along = (math.sin(turn), math.cos(turn))",
        (f"{CUTTING}test_pieces_of_a_lopsided_lamp_lie_as_seen_from_the_screen",),
    ),
    Fault(
        "walls named as seen from inside on a net seen from outside",
        "workshop/wall_net.py",
        '"wall at low y", "wall at high x", "wall at high y", "wall at low x"',
        '"wall at low y", "wall at low x", "wall at high y", "wall at high x"',
        (f"{CUTTING}test_walls_follow_one_another_as_seen_from_outside",),
    ),
    Fault(
        "area of one copy for that of all",
        "workshop/parts_list.py",
        "piece.area_mm2 * piece.copies / 100.0",
        "piece.area_mm2 / 100.0",
        (f"{CUTTING}test_areas_of_the_split_film_lamp",),
    ),
    Fault(
        "the error of a width as large as that of the lumens it goes with the root of",
        "summary/brightness.py",
        "error = 0.5 * found.lumens.error",
        "error = found.lumens.error",
        ("tests/summary/test_brightness.py::test_traced_lumens_and_lux_agree",),
    ),
    Fault(
        "luminance of a matt screen without its pi",
        "summary/brightness.py",
        "scale = gain / math.pi",
        "scale = gain / (2.0 * math.pi)",
        ("tests/summary/test_brightness.py::test_cinema_white",),
    ),
    Fault(
        "errors of a salvaged lens added and not squared",
        "workshop/kitchen_lens.py",
        "squares += np.subtract(*(_solve(end, curved) for end in ends)) ** 2",
        "squares += abs(np.subtract(*(_solve(end, curved) for end in ends)))",
        ("tests/workshop/test_kitchen_lens.py::test_errors_are_those_of_the_readings",),
    ),
    Fault(
        "mirrors not counted in whether the picture must be flipped",
        "optics/orientation.py",
        "(self.front_to_screen + self.watched_from_rear + self.mirrors) % 2",
        "(self.front_to_screen + self.watched_from_rear) % 2",
        ("tests/optics/test_orientation.py::test_flip_and_half_turn_make_the_picture_right",),
    ),
)

OF_STUDIES = (
    Fault(
        "readings looked up with the panel upside down",
        "studies/fitting/fit.py",
        "(y[:, None] - y_mm) ** 2",
        "(y[:, None] + y_mm) ** 2",
        ("tests/studies/test_fit.py::test_readings_are_brightest_at_the_bar_of_a_lopsided_lamp",),
    ),
    Fault(
        "a picture's light thinned by its width and not by its area",
        "studies/fitting/fit.py",
        "result.optics.transmittance * shrink**2",
        "result.optics.transmittance * shrink",
        ("tests/studies/test_fit.py::test_screen_is_as_much_darker_as_it_is_larger",),
    ),
    Fault(
        "a race without its correction for pairs",
        "studies/comparing/race.py",
        "boundary_for(rule.false_alarm / pairs, rule.looks)",
        "boundary_for(rule.false_alarm, rule.looks)",
        (f"{RACE}test_a_design_falls_out_beyond_the_published_boundary",),
    ),
    Fault(
        "the most wins where the least is raced for",
        "studies/comparing/race.py",
        "z = rule.sense * z_of(change)",
        "z = z_of(change)",
        (f"{RACE}test_the_least_wins_where_the_least_is_raced_for",),
    ),
    Fault(
        "both tails of Student's t for one",
        "studies/comparing/sequential.py",
        "max(0.5 * difference.chance_of_zero,",
        "max(difference.chance_of_zero,",
        ("tests/studies/test_sequential.py::test_few_batches_count_for_less",),
    ),
    Fault(
        "a yield that asks for one standard error of reserve",
        "studies/tolerance.py",
        "one.violation(record, 0.0) <= 0.0",
        "one.violation(record) <= 0.0",
        ("tests/studies/test_tolerance.py::test_yield_counts_builds_as_they_are_measured",),
    ),
    Fault(
        "designs ranked from the worst",
        "studies/comparing/compare.py",
        "key=lambda design: -design.result",
        "key=lambda design: design.result",
        (f"{COMPARE}test_ranked_by_lumens_with_differences_to_the_first",),
    ),
    Fault(
        "'real' at the odds of one difference in a table of many",
        "studies/comparing/compare.py",
        "change.chance_of_zero * looked_at < FALSE_ALARM",
        "change.chance_of_zero < FALSE_ALARM",
        (f"{COMPARE}test_real_is_what_luck_makes_once_in_a_hundred_tables",),
    ),
    Fault(
        "errors of unpaired runs taken off each other",
        "studies/comparing/paired.py",
        "math.hypot(first.error, times * second.error)",
        "abs(first.error - times * second.error)",
        (f"{COMPARE}test_errors_of_runs_of_their_own_add_in_quadrature",),
    ),
    Fault(
        "differences with their sign turned",
        "studies/comparing/paired.py",
        "value = first.value - times * second.value",
        "value = times * second.value - first.value",
        (f"{COMPARE}test_differences_are_each_design_less_the_reference",),
    ),
    Fault(
        "the reference's losses in every row of the ledger",
        "studies/comparing/tables.py",
        "shares = ledger_shares(design.result)\n        losses",
        "shares = ledger_shares(comparison.reference.result)\n        losses",
        (f"{COMPARE}test_each_row_of_a_table_holds_its_own_design",),
    ),
    Fault(
        "shares printed under a heading in per cent",
        "studies/comparing/tables.py",
        "estimate(one.name).text(one.scale) for one in figures",
        "estimate(one.name).text() for one in figures",
        (f"{COMPARE}test_each_row_of_a_table_holds_its_own_design",),
    ),
    Fault(
        "errors in a table of per cent left as shares",
        "studies/comparing/tables.py",
        "estimate.error * figure.scale]",
        "estimate.error]",
        (f"{COMPARE}test_each_row_of_a_table_holds_its_own_design",),
    ),
    Fault(
        "a count forecast by the error's ratio instead of its square",
        "studies/effort.py",
        "short**2 * AIM",
        "short * AIM",
        ("tests/studies/test_effort.py::test_counts_are_forecast_by_the_square_of_the_error",),
    ),
)

OF_COMMANDS = (
    Fault(
        "the exit code of a mistake swallowed",
        "cli/mistakes.py",
        "        print_text(str(error), err=True)\n        sys.exit(USER_MISTAKE)",
        "        print_text(str(error), err=True)",
        ("tests/cli/test_commands.py::test_mistakes_get_a_sentence_and_exit_code_2",),
    ),
    Fault(
        "half the error for twice the photons",
        "engine/stop_rule.py",
        "wanted = 4 * photons",
        "wanted = 2 * photons",
        (f"{TOLD}test_half_the_error_takes_four_times_the_photons",),
    ),
    Fault(
        "shares of the fates printed as per cent",
        "summary/result_text.py",
        "{100.0 * fate.photons / result.photons:.2f} %",
        "{fate.photons / result.photons:.2f} %",
        (f"{TOLD}test_fates_are_told_in_per_cent_of_all_photons",),
    ),
    Fault(
        "--against best taken for first",
        "cli/compare.py",
        "for item in found.items()], against, [",
        "for item in found.items()], 'first', [",
        (f"{TOLD}test_differences_are_taken_to_the_design_that_is_asked_for",),
    ),
    Fault(
        "--least without effect",
        "cli/race.py",
        "-1 if least else 1",
        "1",
        (f"{TOLD}test_the_least_wins_a_race_for_the_least",),
    ),
    Fault(
        "the kerf that is asked for not allowed for",
        "cli/cut.py",
        "cutting_plan(scene, kerf, flap)",
        "cutting_plan(scene, 0.0, flap)",
        (f"{TOLD}test_kerf_goes_onto_the_sheet",),
    ),
    Fault(
        "a limit from below taken for one from above",
        "cli/tolerance.py",
        "Limit(name, 1, value) for name, value in at_least",
        "Limit(name, -1, value) for name, value in at_least",
        (f"{TOLD}test_limits_of_a_yield_point_the_right_way",),
    ),
    Fault(
        "pictures of a form that was not asked for",
        "cli/figures.py",
        'options["formats"], options["dpi"], paths)',
        '("png", "svg"), options["dpi"], paths)',
        (f"{TOLD}test_figures_come_in_the_form_that_is_asked_for",),
    ),
)

OF_REPORT = (
    Fault(
        "per cent of a design printed as shares",
        "report/sections.py",
        "result.estimate(one.name).text(one.scale, one.unit)",
        "result.estimate(one.name).text(1.0, one.unit)",
        (f"{REPORT}test_table_of_a_design_is_in_its_own_unit",),
    ),
    Fault(
        "the first design's numbers in every row of a search",
        "report/studies.py",
        "cells[k] for cells in texts",
        "cells[0] for cells in texts",
        (f"{REPORT}test_a_search_is_told_by_the_best_within_its_limits",),
    ),
    Fault(
        "the darkest design shown in full",
        "report/__init__.py",
        "best = comparison.designs[0]",
        "best = comparison.designs[-1]",
        (f"{REPORT}test_the_brightest_design_is_shown_in_full",),
    ),
    Fault(
        "designs of a search beyond its limits told as its best",
        "report/studies.py",
        "if flag.values[k]]",
        "if True]",
        (f"{REPORT}test_a_search_is_told_by_the_best_within_its_limits",),
    ),
    Fault(
        "a scene's own words taken for HTML",
        "report/html.py",
        "autoescape=True",
        "autoescape=False",
        ("tests/report/test_report.py::test_page_needs_nothing_else",),
    ),
)

OF_TELLING = OF_BENCH + OF_STUDIES + OF_COMMANDS + OF_REPORT
